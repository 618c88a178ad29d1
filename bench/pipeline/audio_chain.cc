// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/audio_chain.h"

#include <cmath>
#include <exception>
#include <numbers>

extern "C" {
#include <libavutil/channel_layout.h>
}

#include "bench/pipeline/ledger.h"
#include "bench/stages/stage_cpu.h"

namespace bench {
namespace {

/// Sound packets are small and few; a writer that is behind on pictures still takes them.
constexpr std::size_t kRoomBeyond = 512;

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
  codec->flags |= AV_CODEC_FLAG_GLOBAL_HEADER;  // every muxer of ours takes or adds it
  av_channel_layout_default(&codec->ch_layout, audio.channels);
  if (const int code = avcodec_open2(codec.get(), encoder, nullptr); code < 0) {
    return base::FromFfmpeg(code, "aac");
  }
  return codec;
}

/// A tone with overtones that comes and goes: speech-like enough that no frame is silent.
std::vector<float> OneSecond(int sample_rate_hz) {
  std::vector<float> ring(static_cast<std::size_t>(sample_rate_hz));
  for (std::size_t i = 0; i < ring.size(); ++i) {
    const double t = static_cast<double>(i) / sample_rate_hz * 2 * std::numbers::pi;
    double value = 0;
    for (int overtone = 1; overtone <= 9; ++overtone) {
      value += std::sin(t * 220 * overtone + overtone * overtone) / overtone;
    }
    ring[i] = static_cast<float>(value * (0.1 + 0.08 * std::sin(t * 4)));
  }
  return ring;
}

}  // namespace

base::Result<std::unique_ptr<AudioChain>> AudioChain::Open(const profiles::Audio& audio,
                                                           Pacer& pacer, RunControl& control) {
  auto codec = OpenAac(audio);
  if (!codec) {
    return codec.error();
  }
  return std::unique_ptr<AudioChain>(new AudioChain(audio, std::move(*codec), pacer, control));
}

AudioChain::AudioChain(const profiles::Audio& audio, base::CodecPtr codec, Pacer& pacer,
                       RunControl& control)
    : audio_(audio),
      codec_(std::move(codec)),
      pacer_(pacer),
      control_(control),
      part_(pacer.Join()),
      ring_(OneSecond(audio.sample_rate_hz)) {}

void AudioChain::Start(std::int64_t end_ns, std::vector<BoundedQueue<WriteItem>*> writers) {
  writers_ = std::move(writers);
  thread_ = std::jthread([this, end_ns] { Run(end_ns); });
}

void AudioChain::Join() {
  if (thread_.joinable()) {
    thread_.join();
  }
}

base::Result<base::FramePtr> AudioChain::Sound(std::int64_t first_sample) const {
  base::FramePtr frame = base::NewFrame();
  frame->format = codec_->sample_fmt;
  frame->sample_rate = codec_->sample_rate;
  frame->nb_samples = codec_->frame_size;
  av_channel_layout_copy(&frame->ch_layout, &codec_->ch_layout);
  if (const int code = av_frame_get_buffer(frame.get(), 0); code < 0) {
    return base::FromFfmpeg(code, "sound memory");
  }
  frame->pts = first_sample;
  for (int channel = 0; channel < audio_.channels; ++channel) {
    auto* const samples = reinterpret_cast<float*>(frame->extended_data[channel]);
    for (int i = 0; i < frame->nb_samples; ++i) {
      samples[i] = ring_[static_cast<std::size_t>(first_sample + i) % ring_.size()];
    }
  }
  return frame;
}

void AudioChain::HandOut() {
  const base::PacketPtr packet = base::NewPacket();
  while (avcodec_receive_packet(codec_.get(), packet.get()) >= 0) {
    for (BoundedQueue<WriteItem>* writer : writers_) {
      WriteItem item;
      item.packet = base::Share(*packet);
      item.audio = true;
      if (!writer->PushBeyond(std::move(item), kRoomBeyond) && !writer->closed()) {
        ++dropped_;
      }
    }
    av_packet_unref(packet.get());
  }
}

bool AudioChain::EncodeOne(std::int64_t index) {
  auto sound = Sound(index * codec_->frame_size);
  if (!sound || avcodec_send_frame(codec_.get(), sound->get()) < 0) {
    control_.Stop({StopPart::kSound, "", "sound could not be encoded"});
    return false;
  }
  HandOut();
  ++frames_;
  return true;
}

void AudioChain::Run(std::int64_t end_ns) {
  NameThread(kAudioThread, "");
  const base::Rational rate(audio_.sample_rate_hz, codec_->frame_size);
  try {
    for (std::int64_t index = 0;; ++index) {
      const std::int64_t due_ns = DueNs(index, rate);
      if (due_ns >= end_ns || !pacer_.WaitTurn(part_, due_ns) || !EncodeOne(index)) {
        break;
      }
    }
  } catch (const std::exception& failure) {
    control_.Stop({StopPart::kSound, "sound", ShortageText(failure)});
  }
  pacer_.Leave(part_);
}

}  // namespace bench
