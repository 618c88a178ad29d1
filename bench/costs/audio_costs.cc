// SPDX-License-Identifier: Apache-2.0

#include <cmath>
#include <memory>
#include <numbers>
#include <utility>

#include <fmt/format.h>

#include "bench/costs/stages.h"

extern "C" {
#include <libavutil/channel_layout.h>
}

namespace bench::costs {
namespace {

base::Result<base::CodecPtr> OpenAac(const profiles::Audio& audio) {
  const AVCodec* encoder = avcodec_find_encoder(AV_CODEC_ID_AAC);
  if (encoder == nullptr) {
    return base::Error{base::ErrorKind::kNotPresent, "aac", "this FFmpeg has no AAC encoder"};
  }
  base::CodecPtr codec(avcodec_alloc_context3(encoder));
  codec->sample_fmt = AV_SAMPLE_FMT_FLTP;
  codec->sample_rate = audio.sample_rate_hz;
  codec->bit_rate = audio.bitrate_kbps * 1000LL;
  codec->time_base = {1, audio.sample_rate_hz};
  av_channel_layout_default(&codec->ch_layout, audio.channels);
  if (const int code = avcodec_open2(codec.get(), encoder, nullptr); code < 0) {
    return base::FromFfmpeg(code, "aac");
  }
  return codec;
}

/// A frame of a swelling tone with overtones, all channels alike.
base::Result<base::FramePtr> Sound(const AVCodecContext& codec) {
  base::FramePtr frame = base::NewFrame();
  frame->format = codec.sample_fmt;
  frame->sample_rate = codec.sample_rate;
  frame->nb_samples = codec.frame_size;
  av_channel_layout_copy(&frame->ch_layout, &codec.ch_layout);
  if (const int code = av_frame_get_buffer(frame.get(), 0); code < 0) {
    return base::FromFfmpeg(code, "sound memory");
  }
  for (int channel = 0; channel < codec.ch_layout.nb_channels; ++channel) {
    auto* const samples = reinterpret_cast<float*>(frame->extended_data[channel]);
    for (int i = 0; i < frame->nb_samples; ++i) {
      const double angle = 2 * std::numbers::pi * 220 * i / codec.sample_rate;
      samples[i] = static_cast<float>(0.2 * std::sin(angle) + 0.1 * std::sin(angle * 7.3) +
                                      0.05 * std::sin(angle * 23.7));
    }
  }
  return frame;
}

base::Result<OneFrame> PrepareAudio(const profiles::Audio& audio) {
  auto opened = OpenAac(audio);
  if (!opened) {
    return opened.error();
  }
  auto made = Sound(**opened);
  if (!made) {
    return made.error();
  }
  const std::shared_ptr<AVCodecContext> codec(std::move(*opened));
  const std::shared_ptr<AVFrame> sound(std::move(*made));
  const std::shared_ptr<AVPacket> packet(base::NewPacket());
  return OneFrame([codec, sound, packet](std::int64_t index) -> base::Status {
    sound->pts = index * codec->frame_size;
    if (const int code = avcodec_send_frame(codec.get(), sound.get()); code < 0) {
      return base::FromFfmpeg(code, "aac");
    }
    while (avcodec_receive_packet(codec.get(), packet.get()) >= 0) {
      av_packet_unref(packet.get());
    }
    return base::Done{};
  });
}

}  // namespace

void RegisterAudio(const profiles::Profile& profile) {
  if (!profile.audio) {
    return;
  }
  const profiles::Audio audio = *profile.audio;
  RegisterStage(Stage::kAudio,
                fmt::format("aac {} channels {} Hz", audio.channels, audio.sample_rate_hz),
                {0, 0, kSoundForm}, [audio] { return PrepareAudio(audio); });
}

}  // namespace bench::costs
