// SPDX-License-Identifier: Apache-2.0

#include "bench/runs/hardware_sessions.h"

#include <algorithm>
#include <set>
#include <utility>

#include "base/media/video_encoder.h"
#include "bench/feeds/content.h"
#include "bench/plan/encoder_options.h"

namespace bench {
namespace {

constexpr int kPictures = 4;

class FfmpegSession : public EncodeSession {
 public:
  FfmpegSession(base::VideoEncoder encoder, const std::vector<base::FramePtr>& pictures)
      : encoder_(std::move(encoder)), pictures_(pictures), packet_(base::NewPacket()) {}

  base::Status EncodeOne() override {
    const AVFrame& picture = *pictures_[static_cast<std::size_t>(index_) % pictures_.size()];
    if (auto sent = encoder_.Send(picture, index_++); !sent) {
      return sent;
    }
    for (;;) {
      const auto got = encoder_.Receive(*packet_);
      if (!got || !*got) {
        return got ? base::Status(base::Done{}) : got.error();
      }
      av_packet_unref(packet_.get());
    }
  }

 private:
  base::VideoEncoder encoder_;
  const std::vector<base::FramePtr>& pictures_;
  base::PacketPtr packet_;
  std::int64_t index_ = 0;
};

std::string Text(const base::Error& error) {
  return error.where.empty() ? error.detail : error.where + ": " + error.detail;
}

using Sessions = std::vector<std::unique_ptr<EncodeSession>>;

/// Pictures a second of the first `count` sessions in turn; 0 when one fails.
double InTurnPerSecond(Sessions& sessions, std::size_t count, base::Clock& clock, double seconds,
                       const std::stop_token& stop) {
  const std::int64_t begun_ns = clock.NowNs();
  std::int64_t pictures = 0;
  double until = 0;
  while (until < seconds && !stop.stop_requested()) {
    for (std::size_t i = 0; i < count; ++i) {
      if (!sessions[i]->EncodeOne()) {
        return 0;
      }
      ++pictures;
    }
    until = static_cast<double>(clock.NowNs() - begun_ns) / 1e9;
  }
  return until > 0 ? static_cast<double>(pictures) / until : 0;
}

}  // namespace

std::vector<HardwareNeed> HardwareNeeds(const RehearsalPlan& plan) {
  std::vector<HardwareNeed> needs;
  std::set<int> counted;
  for (const OutputPlan& output : plan.outputs) {
    if (output.encoder == SoftwareEncoder(output.output.codec) || output.encoder == "null" ||
        !counted.insert(output.encode_number).second) {
      continue;  // in software, or an encode that is shared with one before
    }
    auto same = std::find_if(needs.begin(), needs.end(), [&](const HardwareNeed& need) {
      return need.encoder == output.encoder;
    });
    if (same == needs.end()) {
      needs.push_back({output.encoder, output.output.codec, {}, {}, 0, {}, 0});
      same = needs.end() - 1;
    }
    ++same->sessions;
    if (output.output.raster.Pixels() > same->raster.Pixels()) {
      same->raster = output.output.raster;
      same->rate = output.output.rate;
      same->bitrate_kbps = output.output.bitrate_kbps;
      same->options = output.encoder_options;
    }
  }
  return needs;
}

HardwareEncode MeasureSessions(HardwareEncode about, const SessionOpener& open, base::Clock& clock,
                               double seconds, const std::stop_token& stop) {
  Sessions sessions;
  while (static_cast<int>(sessions.size()) < about.wanted && !stop.stop_requested()) {
    auto session = open();
    if (!session) {
      about.refusal = Text(session.error());
      break;
    }
    if (auto encoded = (*session)->EncodeOne(); !encoded) {
      about.refusal = Text(encoded.error());
      break;
    }
    sessions.push_back(std::move(*session));
  }
  about.sessions = static_cast<int>(sessions.size());
  if (!sessions.empty()) {
    about.one_per_second = InTurnPerSecond(sessions, 1, clock, seconds, stop);
    about.all_per_second = InTurnPerSecond(sessions, sessions.size(), clock, seconds, stop);
  }
  return about;
}

HardwareEncode MeasureHardware(const HardwareNeed& need, int more, base::Clock& clock,
                               double seconds, const std::stop_token& stop) {
  HardwareEncode about;
  about.encoder = need.encoder;
  about.codec = need.codec;
  about.width = need.raster.width;
  about.height = need.raster.height;
  about.wanted = need.sessions + more;
  const Painter painter(profiles::Content::kBusy, need.raster.width, need.raster.height, 1);
  std::vector<base::FramePtr> pictures;
  for (int i = 0; i < kPictures; ++i) {
    auto picture = base::NewPicture(AV_PIX_FMT_YUV420P, need.raster.width, need.raster.height);
    if (!picture) {
      about.refusal = picture.error().detail;
      return about;
    }
    painter.Paint(i, kPictures, **picture);
    pictures.push_back(std::move(*picture));
  }
  const SessionOpener open = [&]() -> base::Result<std::unique_ptr<EncodeSession>> {
    auto encoder =
        base::VideoEncoder::Open({need.encoder, need.raster.width, need.raster.height, need.rate,
                                  need.bitrate_kbps * 1000LL, 1, false, need.options});
    if (!encoder) {
      return encoder.error();
    }
    return std::unique_ptr<EncodeSession>(
        std::make_unique<FfmpegSession>(std::move(*encoder), pictures));
  };
  return MeasureSessions(about, open, clock, seconds, stop);
}

}  // namespace bench
