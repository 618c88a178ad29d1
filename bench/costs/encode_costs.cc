#include <algorithm>
#include <memory>
#include <thread>
#include <utility>

#include <fmt/format.h>

#include "base/video_encoder.h"
#include "bench/costs/stages.h"
#include "bench/plan.h"
#include "profiles/words.h"

namespace bench::costs {
namespace {

constexpr int kPictures = 24;

/// What the encoder sees: the content of the source, or of the first one for
/// pictures that are drawn from all.
profiles::Content ContentOf(const profiles::Profile& profile, const std::string& takes) {
  if (const profiles::Source* source = profiles::FindSource(profile, takes)) {
    return source->content;
  }
  return profile.sources.empty() ? profiles::Content::kTalk : profile.sources.front().content;
}

base::Result<OneFrame> PrepareEncode(const OutputPlan& plan, profiles::Content content) {
  auto pictures = PaintedPictures(content, plan.output.raster, kPictures);
  if (!pictures) {
    return pictures.error();
  }
  auto opened = base::VideoEncoder::Open(
      {plan.encoder, plan.output.raster.width, plan.output.raster.height, plan.output.rate,
       plan.output.bitrate_kbps * 1000LL, plan.threads, true, plan.encoder_options});
  if (!opened) {
    return opened.error();
  }
  auto encoder = std::make_shared<base::VideoEncoder>(std::move(*opened));
  auto ring = std::make_shared<std::vector<base::FramePtr>>(std::move(*pictures));
  std::shared_ptr<AVPacket> packet(base::NewPacket());
  return OneFrame([encoder, ring, packet](std::int64_t index) -> base::Status {
    const AVFrame& picture = *(*ring)[static_cast<std::size_t>(index) % ring->size()];
    if (auto sent = encoder->Send(picture, index); !sent) {
      return sent;
    }
    for (;;) {
      const auto got = encoder->Receive(*packet);
      if (!got) {
        return got.error();
      }
      if (!*got) {
        return base::Done{};
      }
      av_packet_unref(packet.get());
    }
  });
}

}  // namespace

void RegisterEncodes(const profiles::Profile& profile) {
  PlanOptions options;
  options.usable_cpus = std::max(1U, std::thread::hardware_concurrency());
  const auto plan = MakePlan(profile, options);
  if (!plan) {
    const std::string why = plan.error().where + ": " + plan.error().detail;
    RegisterStage("encode", "plan", [why]() -> base::Result<OneFrame> {
      return base::Error{base::ErrorKind::kInvalid, "", why};
    });
    return;
  }
  for (const OutputPlan& output : plan->outputs) {
    const profiles::Content content = ContentOf(profile, output.output.takes);
    RegisterStage("encode",
                  fmt::format("{} {} {} {} {} kb/s", profiles::ToText(output.output.raster),
                              output.encoder, profiles::ToWord(output.output.effort),
                              profiles::ToWord(content), output.output.bitrate_kbps),
                  [output, content] { return PrepareEncode(output, content); });
  }
}

}  // namespace bench::costs
