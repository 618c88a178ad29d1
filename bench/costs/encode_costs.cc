// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <memory>
#include <thread>
#include <utility>

#include <fmt/format.h>

#include "base/media/video_encoder.h"
#include "bench/costs/stages.h"
#include "bench/feeds/content.h"
#include "bench/plan/encoder_options.h"
#include "bench/plan/plan.h"
#include "bench/plan/thread_plan.h"
#include "profiles/words.h"

namespace bench::costs {
namespace {

constexpr int kPictures = 24;

base::Result<OneFrame> PrepareEncode(const OutputPlan& plan, const Shown& shown) {
  auto pictures = PicturesOf(shown, plan.output.raster, kPictures);
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

void RegisterOne(Stage stage, const OutputPlan& output, const Shown& shown) {
  RegisterStage(stage,
                fmt::format("{} {} {} {} {} kb/s", profiles::ToText(output.output.raster),
                            output.encoder, profiles::ToWord(output.output.effort),
                            profiles::ToWord(shown.content), output.output.bitrate_kbps),
                {output.output.raster.width, output.output.raster.height, output.encoder,
                 output.output.effort, shown.content, output.output.bitrate_kbps},
                [output, shown] { return PrepareEncode(output, shown); });
}

double WorkOfOutput(const OutputPlan& output) {
  const bool hardware = output.encoder != SoftwareEncoder(output.output.codec);
  return WorkOf(
      {output.encoder, hardware, output.output.raster, output.output.rate, output.output.effort});
}

}  // namespace

void RegisterEncodes(const profiles::Profile& profile) {
  PlanOptions options;
  options.usable_cpus = std::max(1U, std::thread::hardware_concurrency());
  const auto plan = MakePlan(profile, options);
  if (!plan) {
    const std::string why = plan.error().where + ": " + plan.error().detail;
    RegisterStage(Stage::kEncode, "plan", {}, [why]() -> base::Result<OneFrame> {
      return base::Error{base::ErrorKind::kInvalid, "", why};
    });
    return;
  }
  for (const OutputPlan& output : plan->outputs) {
    RegisterOne(Stage::kEncode, output, ShownTo(profile, output.output.takes));
  }
  // What harder pictures would cost: of the heaviest encode only, to stay quick.
  const auto heaviest = std::max_element(plan->outputs.begin(), plan->outputs.end(),
                                         [](const OutputPlan& one, const OutputPlan& other) {
                                           return WorkOfOutput(one) < WorkOfOutput(other);
                                         });
  if (heaviest == plan->outputs.end()) {
    return;
  }
  const Shown shown = ShownTo(profile, heaviest->output.takes);
  if (const auto harder = HarderThan(shown.content)) {
    RegisterOne(Stage::kEncodeHarder, *heaviest, {*harder, ""});
  }
}

}  // namespace bench::costs
