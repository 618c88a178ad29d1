// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/fixed_quality.h"

#include <string>
#include <utility>

#include "base/media/video_encoder.h"
#include "bench/plan/encoder_options.h"
#include "bench/stages/stage_cpu.h"

namespace bench {
namespace {

/// Adds up what the encoder has ready.
base::Status TakePackets(base::VideoEncoder& encoder, double& bits) {
  const base::PacketPtr packet = base::NewPacket();
  for (;;) {
    const auto got = encoder.Receive(*packet);
    if (!got) {
      return got.error();
    }
    if (!*got) {
      return base::Done{};
    }
    bits += packet->size * 8.0;
    av_packet_unref(packet.get());
  }
}

}  // namespace

base::Result<PictureCost> CostAtFixedQuality(const std::vector<base::FramePtr>& pictures,
                                             const FixedQuality& asked) {
  if (pictures.empty() || asked.pictures < 1) {
    return base::Error{base::ErrorKind::kInvalid, "fixed quality", "there is no picture"};
  }
  const AVFrame& first = *pictures.front();
  base::VideoEncoderSettings settings;
  settings.encoder = "libx264";
  settings.width = first.width;
  settings.height = first.height;
  settings.rate = asked.rate;
  settings.threads = 1;
  settings.options = EncoderOptions(settings.encoder, asked.effort);
  settings.options.emplace_back("qp", std::to_string(asked.quantiser));
  auto encoder = base::VideoEncoder::Open(settings);
  if (!encoder) {
    return encoder.error();
  }
  PictureCost cost;
  const double cpu_before = ProcessCpuSeconds();
  for (int i = 0; i < asked.pictures; ++i) {
    const AVFrame& picture = *pictures[static_cast<std::size_t>(i) % pictures.size()];
    auto done = encoder->Send(picture, i);
    if (done) {
      done = TakePackets(*encoder, cost.bits);
    }
    if (!done) {
      return done.error();
    }
  }
  auto drained = encoder->Drain();
  if (drained) {
    drained = TakePackets(*encoder, cost.bits);
  }
  if (!drained) {
    return drained.error();
  }
  cost.cpu_ms = (ProcessCpuSeconds() - cpu_before) * 1000 / asked.pictures;
  cost.bits /= asked.pictures;
  cost.bits_per_pixel = cost.bits / (static_cast<double>(first.width) * first.height);
  return cost;
}

}  // namespace bench
