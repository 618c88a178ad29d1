// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/clip_reader.h"

#include "base/media/media_file.h"
#include "base/text.h"

namespace bench {
namespace {

base::Error Unreadable(const std::filesystem::path& clip, const std::string& why) {
  return base::Error{base::ErrorKind::kInvalid, base::Printable(clip.string()),
                     "the clip cannot be read: " + why};
}

base::Result<base::CodecPtr> OpenDecoder(const AVStream& track, const AVCodec& decoder) {
  base::CodecPtr codec(avcodec_alloc_context3(&decoder));
  if (!codec || avcodec_parameters_to_context(codec.get(), track.codecpar) < 0) {
    return base::FromFfmpeg(AVERROR(ENOMEM), "decoder");
  }
  codec->thread_count = 0;
  if (const int code = avcodec_open2(codec.get(), &decoder, nullptr); code < 0) {
    return base::FromFfmpeg(code, decoder.name);
  }
  return codec;
}

/// Takes what the decoder has ready; false once `frames` pictures are there.
bool TakePictures(AVCodecContext& codec, int frames, std::vector<base::FramePtr>& pictures) {
  for (;;) {
    base::FramePtr picture = base::NewFrame();
    if (avcodec_receive_frame(&codec, picture.get()) < 0) {
      return true;
    }
    pictures.push_back(std::move(picture));
    if (pictures.size() >= static_cast<std::size_t>(frames)) {
      return false;
    }
  }
}

/// Pictures of one track until there are `frames`, the file ends, or `stop` is requested.
std::vector<base::FramePtr> DecodeTrack(AVFormatContext& input, int track, AVCodecContext& codec,
                                        int frames, const std::stop_token& stop) {
  std::vector<base::FramePtr> pictures;
  const base::PacketPtr packet = base::NewPacket();
  bool more = true;
  while (more && av_read_frame(&input, packet.get()) >= 0 && !stop.stop_requested()) {
    if (packet->stream_index == track) {
      avcodec_send_packet(&codec, packet.get());
      more = TakePictures(codec, frames, pictures);
    }
    av_packet_unref(packet.get());
  }
  if (more && !stop.stop_requested()) {
    avcodec_send_packet(&codec, nullptr);
    TakePictures(codec, frames, pictures);
  }
  return pictures;
}

base::Result<std::vector<base::FramePtr>> Read(const std::filesystem::path& clip, int frames,
                                               const std::stop_token& stop) {
  auto input = base::OpenMediaFile(clip, stop, 0);
  if (!input) {
    return Unreadable(clip, input.error().detail);
  }
  AVFormatContext& opened = **input;
  if (const int code = avformat_find_stream_info(&opened, nullptr); code < 0) {
    return Unreadable(clip, base::FfmpegError(code));
  }
  const AVCodec* decoder = nullptr;
  const int track = av_find_best_stream(&opened, AVMEDIA_TYPE_VIDEO, -1, -1, &decoder, 0);
  if (track < 0 || decoder == nullptr) {
    return Unreadable(clip, "no video track that this FFmpeg decodes");
  }
  auto codec = OpenDecoder(*opened.streams[track], *decoder);
  if (!codec) {
    return Unreadable(clip, codec.error().detail);
  }
  auto pictures = DecodeTrack(opened, track, **codec, frames, stop);
  if (pictures.empty()) {
    return Unreadable(clip, "no picture in it could be decoded");
  }
  return pictures;
}

}  // namespace

base::Result<std::vector<base::FramePtr>> ReadClip(const std::filesystem::path& clip, int frames,
                                                   const std::stop_token& stop) {
  auto pictures = Read(clip, frames, stop);
  if (stop.stop_requested()) {
    return base::Error{base::ErrorKind::kIo, base::Printable(clip.string()),
                       "reading the clip was stopped on request"};
  }
  return pictures;
}

}  // namespace bench
