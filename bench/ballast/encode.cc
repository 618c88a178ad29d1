// SPDX-License-Identifier: Apache-2.0
//
// Extra CPU load: real encodes of small pictures.

#include <algorithm>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/media/video_encoder.h"
#include "bench/ballast/works.h"
#include "bench/feeds/content.h"
#include "bench/plan/encoder_options.h"

namespace bench {
namespace {

constexpr int kWidth = 640;
constexpr int kHeight = 360;
constexpr int kPictures = 24;
constexpr std::int64_t kFewestBits = 100'000;

/// Painted once, read by all threads.
using Pictures = std::vector<base::FramePtr>;

base::Result<std::shared_ptr<const Pictures>> Paint(profiles::Content content) {
  const Painter painter(content, kWidth, kHeight, 1);
  auto pictures = std::make_shared<Pictures>();
  for (int i = 0; i < kPictures; ++i) {
    auto picture = base::NewPicture(AV_PIX_FMT_YUV420P, kWidth, kHeight);
    if (!picture) {
      return picture.error();
    }
    painter.Paint(i, kPictures, **picture);
    pictures->push_back(std::move(*picture));
  }
  return std::shared_ptr<const Pictures>(std::move(pictures));
}

class EncodeWork : public BallastWork {
 public:
  EncodeWork(base::VideoEncoder encoder, std::shared_ptr<const Pictures> pictures)
      : encoder_(std::move(encoder)), pictures_(std::move(pictures)), packet_(base::NewPacket()) {}

  EncodeWork(const EncodeWork&) = delete;
  EncodeWork& operator=(const EncodeWork&) = delete;
  /// Some libraries complain of an encoder that is closed and was never told of its end.
  ~EncodeWork() override { static_cast<void>(encoder_.Drain()); }

  base::Result<std::int64_t> DoOne() override {
    const auto at = static_cast<std::size_t>(count_ % kPictures);
    if (auto sent = encoder_.Send(*(*pictures_)[at], count_++); !sent) {
      return sent.error();
    }
    for (;;) {
      const auto got = encoder_.Receive(*packet_);
      if (!got) {
        return got.error();
      }
      if (!*got) {
        return std::int64_t{0};
      }
      av_packet_unref(packet_.get());
    }
  }

 private:
  base::VideoEncoder encoder_;
  std::shared_ptr<const Pictures> pictures_;
  base::PacketPtr packet_;
  std::int64_t count_ = 0;
};

/// On the calling thread alone, as far as the library can.
void KeepToOneThread(base::VideoEncoderSettings& settings) {
  settings.threads = 1;
  for (auto& [name, value] : settings.options) {
    if (name == "x265-params") {
      value += ":pools=none:frame-threads=1";
    }
  }
  if (settings.encoder == "libsvtav1") {
    settings.options.emplace_back("svtav1-params", "lp=1");
  }
}

base::VideoEncoderSettings LikeTheOutputs(const RehearsalPlan& plan) {
  base::VideoEncoderSettings settings;
  settings.width = kWidth;
  settings.height = kHeight;
  settings.encoder = SoftwareEncoder("h264");
  settings.bits_per_second = 1'000'000;
  settings.options = EncoderOptions(settings.encoder, profiles::Effort::kLow);
  const auto software =
      std::find_if(plan.outputs.begin(), plan.outputs.end(), [](const OutputPlan& output) {
        return output.encoder == SoftwareEncoder(output.output.codec);
      });
  if (software != plan.outputs.end()) {
    const double pixels =
        static_cast<double>(std::max<std::int64_t>(software->output.raster.Pixels(), 1));
    settings.encoder = software->encoder;
    settings.options = software->encoder_options;
    settings.rate = software->output.rate;
    settings.bits_per_second = std::max(
        kFewestBits, static_cast<std::int64_t>(static_cast<double>(software->output.bitrate_kbps) *
                                               1000 * kWidth * kHeight / pixels));
  }
  KeepToOneThread(settings);
  return settings;
}

std::string OptionText(const base::VideoEncoderSettings& settings) {
  std::string text = settings.encoder;
  for (const auto& [name, value] : settings.options) {
    text.append(" ").append(name).append("=").append(value);
  }
  return text;
}

profiles::Content ContentOf(const profiles::Profile& profile) {
  const auto content =
      profile.sources.empty() ? profiles::Content::kTalk : profile.sources.front().content;
  return content == profiles::Content::kClip ? profiles::Content::kTalk : content;
}

}  // namespace

BallastRecipe CpuBallast(const RehearsalPlan& plan, int threads) {
  const base::VideoEncoderSettings settings = LikeTheOutputs(plan);
  const auto pictures = Paint(ContentOf(plan.profile));
  BallastRecipe recipe;
  recipe.kind = LoadKind::kCpu;
  recipe.threads = threads;
  recipe.method = fmt::format("encodes of {}x{} pictures with {}, {} at a time", kWidth, kHeight,
                              OptionText(settings), threads);
  recipe.make = [settings, pictures](int /*index*/) -> base::Result<std::unique_ptr<BallastWork>> {
    if (!pictures) {
      return pictures.error();
    }
    auto encoder = base::VideoEncoder::Open(settings);
    if (!encoder) {
      return encoder.error();
    }
    return std::unique_ptr<BallastWork>(
        std::make_unique<EncodeWork>(std::move(*encoder), *pictures));
  };
  return recipe;
}

}  // namespace bench
