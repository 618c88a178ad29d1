// SPDX-License-Identifier: Apache-2.0

#include "base/media/ffmpeg.h"

#include <array>
#include <cstdarg>
#include <cstdlib>
#include <new>

extern "C" {
#include <libavutil/log.h>
}

#include "base/text.h"

namespace base {
namespace {

thread_local std::string first_complaint;
thread_local std::string last_complaint;

void KeepComplaint(void* context, int level, const char* format, va_list arguments) {
  if (level > AV_LOG_ERROR) {
    return;
  }
  std::array<char, 512> line{};
  int print_prefix = 1;
  av_log_format_line2(context, level, format, arguments, line.data(), line.size(), &print_prefix);
  std::string_view text = Trim(line.data());
  // "[h264_nvenc @ 0x55d0...] reason": the address says nothing to a person.
  if (const auto close = text.find("] "); text.starts_with('[') && close != text.npos) {
    text.remove_prefix(close + 2);
  }
  if (!text.empty()) {
    last_complaint = Printable(text, 300);
    if (first_complaint.empty()) {
      first_complaint = last_complaint;
    }
  }
}

}  // namespace

FramePtr NewFrame() {
  FramePtr frame(av_frame_alloc());
  if (!frame) {
    throw std::bad_alloc();
  }
  return frame;
}

PacketPtr NewPacket() {
  PacketPtr packet(av_packet_alloc());
  if (!packet) {
    throw std::bad_alloc();
  }
  return packet;
}

Result<FramePtr> NewPicture(AVPixelFormat format, int width, int height) {
  FramePtr frame = NewFrame();
  frame->format = format;
  frame->width = width;
  frame->height = height;
  const int code = av_frame_get_buffer(frame.get(), 0);
  if (code == AVERROR(ENOMEM)) {
    throw std::bad_alloc();
  }
  return code < 0 ? Result<FramePtr>(FromFfmpeg(code, "picture memory")) : std::move(frame);
}

FramePtr Share(const AVFrame& frame) {
  FramePtr shared(av_frame_clone(&frame));
  if (!shared) {
    throw std::bad_alloc();
  }
  return shared;
}

PacketPtr Share(const AVPacket& packet) {
  PacketPtr shared(av_packet_clone(&packet));
  if (!shared) {
    throw std::bad_alloc();
  }
  return shared;
}

std::string FfmpegError(int code) {
  std::array<char, AV_ERROR_MAX_STRING_SIZE> text{};
  av_strerror(code, text.data(), text.size());
  return text.data();
}

void KeepFfmpegComplaints() {
  av_log_set_callback(KeepComplaint);
  setenv("SVT_LOG", "0", 0);  // SVT-AV1 writes past FFmpeg's log, to standard error
}

std::string TakeFfmpegComplaint() {
  const std::string first = std::exchange(first_complaint, std::string());
  const std::string last = std::exchange(last_complaint, std::string());
  // The first line is mostly the driver's word, the last one FFmpeg's conclusion.
  return first == last ? last : first + "; " + last;
}

Error FromFfmpeg(int code, const std::string& where) {
  const std::string complaint = TakeFfmpegComplaint();
  const std::string text = FfmpegError(code);
  const ErrorKind kind =
      code == AVERROR(EACCES) || code == AVERROR(EPERM) ? ErrorKind::kDenied : ErrorKind::kIo;
  return Error{kind, where, complaint.empty() ? text : complaint + " (" + text + ")"};
}

}  // namespace base
