// SPDX-License-Identifier: Apache-2.0
//
// Owners for FFmpeg's objects, and FFmpeg's own words when it refuses.

#pragma once

#include <memory>
#include <string>

extern "C" {
#include <libavcodec/avcodec.h>
#include <libavformat/avformat.h>
#include <libavutil/buffer.h>
#include <libavutil/frame.h>
#include <libswscale/swscale.h>
}

#include "base/result.h"

namespace base {

struct FreeFrame {
  void operator()(AVFrame* frame) const { av_frame_free(&frame); }
};
struct FreePacket {
  void operator()(AVPacket* packet) const { av_packet_free(&packet); }
};
struct FreeCodec {
  void operator()(AVCodecContext* codec) const { avcodec_free_context(&codec); }
};
struct FreeScaler {
  void operator()(SwsContext* scaler) const { sws_freeContext(scaler); }
};
struct FreeBuffer {
  void operator()(AVBufferRef* buffer) const { av_buffer_unref(&buffer); }
};
struct CloseInput {
  void operator()(AVFormatContext* input) const { avformat_close_input(&input); }
};

using FramePtr = std::unique_ptr<AVFrame, FreeFrame>;
using PacketPtr = std::unique_ptr<AVPacket, FreePacket>;
using CodecPtr = std::unique_ptr<AVCodecContext, FreeCodec>;
using ScalerPtr = std::unique_ptr<SwsContext, FreeScaler>;
using BufferPtr = std::unique_ptr<AVBufferRef, FreeBuffer>;
using InputPtr = std::unique_ptr<AVFormatContext, CloseInput>;

/// Throw std::bad_alloc when memory is out, like `new`.
FramePtr NewFrame();
PacketPtr NewPacket();

/// A picture with memory of its own; kIo where there is no such picture.
Result<FramePtr> NewPicture(AVPixelFormat format, int width, int height);
/// Another owner of the same picture memory.
FramePtr Share(const AVFrame& frame);
PacketPtr Share(const AVPacket& packet);

/// FFmpeg's text for a negative return value.
std::string FfmpegError(int code);

/// From now on FFmpeg prints nothing; each thread's first and last error
/// lines are kept.
/// Once, before the program has other threads.
void KeepFfmpegComplaints();
/// The first and the last error line FFmpeg logged on this thread since the
/// last call ("A; B"), printable and without line ends; empty without one.
std::string TakeFfmpegComplaint();

/// An Error for `code`, with FFmpeg's complaint when it made one.
Error FromFfmpeg(int code, const std::string& where);

}  // namespace base
