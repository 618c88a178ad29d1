// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/decode_recording.h"

#include <algorithm>
#include <optional>
#include <utility>

extern "C" {
#include <libavutil/pixdesc.h>
}

#include "probes/recording/containers/container.h"

namespace probes {
namespace {

constexpr std::int64_t kPacketsPerLook = 256;

/// The first component, which is brightness in all but RGB; nothing where samples are no bytes.
std::optional<LumaPlane> LumaOf(const AVFrame& picture) {
  const AVPixFmtDescriptor* form = av_pix_fmt_desc_get(static_cast<AVPixelFormat>(picture.format));
  constexpr std::uint64_t kOther = AV_PIX_FMT_FLAG_PAL | AV_PIX_FMT_FLAG_BITSTREAM |
                                   AV_PIX_FMT_FLAG_HWACCEL | AV_PIX_FMT_FLAG_BE |
                                   AV_PIX_FMT_FLAG_FLOAT;
  if (form == nullptr || (form->flags & kOther) != 0) {
    return std::nullopt;
  }
  const AVComponentDescriptor& first = form->comp[0];
  if (first.depth < 8 || first.depth > 16 || first.plane < 0 ||
      first.plane >= AV_NUM_DATA_POINTERS || picture.data[first.plane] == nullptr) {
    return std::nullopt;
  }
  return LumaPlane{picture.data[first.plane] + first.offset,
                   picture.linesize[first.plane],
                   picture.width,
                   picture.height,
                   first.step,
                   first.depth,
                   first.shift};
}

base::Result<base::CodecPtr> OpenDecoder(const AVStream& stream) {
  const AVCodec* codec = avcodec_find_decoder(stream.codecpar->codec_id);
  if (codec == nullptr) {
    return base::Error{
        base::ErrorKind::kUnsupported, "",
        std::string("no decoder for ") + avcodec_get_name(stream.codecpar->codec_id)};
  }
  base::CodecPtr decoder(avcodec_alloc_context3(codec));
  if (!decoder || avcodec_parameters_to_context(decoder.get(), stream.codecpar) < 0) {
    return base::Error{base::ErrorKind::kIo, "", "no memory for a decoder"};
  }
  decoder->thread_count = 0;
  decoder->pkt_timebase = stream.time_base;
  if (const int code = avcodec_open2(decoder.get(), codec, nullptr); code < 0) {
    return base::FromFfmpeg(code, "");
  }
  return decoder;
}

AVStream* FirstPictures(AVFormatContext& input) {
  AVStream* found = nullptr;
  for (unsigned i = 0; i < input.nb_streams; ++i) {
    AVStream* stream = input.streams[i];
    const bool pictures = stream->codecpar->codec_type == AVMEDIA_TYPE_VIDEO &&
                          (stream->disposition & AV_DISPOSITION_ATTACHED_PIC) == 0;
    if (pictures && found == nullptr) {
      found = stream;
    } else {
      stream->discard = AVDISCARD_ALL;
    }
  }
  return found;
}

}  // namespace

base::Status ContentReader::Look(const std::filesystem::path& path, double shift_s,
                                 const std::stop_token& stop, const ReadProgress& progress) {
  auto input = OpenRecording(path, stop);
  if (!input) {
    return input.error();
  }
  AVStream* stream = FirstPictures(**input);
  if (stream == nullptr) {
    return base::Done{};
  }
  shift_s_ = shift_s;
  looked_ = true;
  return Decode(**input, *stream, stop, progress);
}

base::Status ContentReader::Decode(AVFormatContext& input, AVStream& stream,
                                   const std::stop_token& stop, const ReadProgress& progress) {
  auto decoder = OpenDecoder(stream);
  if (!decoder) {
    return decoder.error();
  }
  AVCodecContext& codec = **decoder;
  const base::PacketPtr packet = base::NewPacket();
  std::int64_t count = 0;
  while (av_read_frame(&input, packet.get()) >= 0) {
    if (packet->stream_index == stream.index && packet->size > 0) {
      if (avcodec_send_packet(&codec, packet.get()) < 0) {
        watch_.AddDamaged();
      }
      TakePictures(codec, stream);
      if (++count % kPacketsPerLook == 0 && packet->dts != AV_NOPTS_VALUE) {
        progress(static_cast<double>(packet->dts) * av_q2d(stream.time_base),
                 input.pb != nullptr ? avio_tell(input.pb) : 0);
      }
    }
    av_packet_unref(packet.get());
  }
  avcodec_send_packet(&codec, nullptr);
  TakePictures(codec, stream);
  base::TakeFfmpegComplaint();
  if (stop.stop_requested()) {
    return base::Error{base::ErrorKind::kIo, "", "stopped on request"};
  }
  return base::Done{};
}

void ContentReader::TakePictures(AVCodecContext& decoder, const AVStream& stream) {
  base::FramePtr picture = base::NewFrame();
  while (avcodec_receive_frame(&decoder, picture.get()) >= 0) {
    Take(*picture, stream);
    before_ = std::exchange(picture, base::NewFrame());
  }
}

void ContentReader::Take(const AVFrame& picture, const AVStream& stream) {
  if (picture.best_effort_timestamp == AV_NOPTS_VALUE) {
    watch_.AddDamaged();
    return;
  }
  const double at_s =
      static_cast<double>(picture.best_effort_timestamp) * av_q2d(stream.time_base) + shift_s_;
  const auto now = LumaOf(picture);
  const auto before = before_ ? LumaOf(*before_) : std::nullopt;
  const auto difference = now && before ? DifferenceOf(*now, *before) : std::nullopt;
  const bool damaged =
      picture.decode_error_flags != 0 || (picture.flags & AV_FRAME_FLAG_CORRUPT) != 0;
  watch_.Add(at_s, difference, damaged);
}

void ContentReader::Finish(double zero_s, Recording& recording) {
  const auto pictures =
      std::find_if(recording.tracks.begin(), recording.tracks.end(),
                   [](const TrackTimes& track) { return track.kind == TrackKind::kVideo; });
  if (looked_ && pictures != recording.tracks.end()) {
    pictures->content = watch_.Finish(zero_s);
  }
}

}  // namespace probes
