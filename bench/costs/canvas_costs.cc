// SPDX-License-Identifier: Apache-2.0

#include <memory>
#include <utility>

#include <fmt/format.h>

#include "bench/costs/stages.h"
#include "bench/pipeline/compose.h"
#include "bench/plan/plan.h"
#include "bench/stages/picture_pool.h"
#include "bench/stages/picture_scaler.h"

namespace bench::costs {
namespace {

constexpr int kPicturesEach = 4;

/// One picture of every source; each call of Next() gives each its next one.
class Wall {
 public:
  static base::Result<std::shared_ptr<Wall>> Make(const std::vector<profiles::Source>& sources) {
    auto wall = std::make_shared<Wall>();
    for (const profiles::Source& source : sources) {
      auto pictures = PaintedPictures(source.content, source.raster, kPicturesEach);
      if (!pictures) {
        return pictures.error();
      }
      wall->rings_.push_back(std::move(*pictures));
      wall->shown_.push_back(base::Share(*wall->rings_.back().front()));
    }
    return wall;
  }

  const std::vector<base::FramePtr>& At(std::int64_t index) {
    const auto turn = static_cast<std::size_t>(index % kPicturesEach);
    for (std::size_t i = 0; i < rings_.size(); ++i) {
      shown_[i] = base::Share(*rings_[i][turn]);
    }
    return shown_;
  }

 private:
  std::vector<std::vector<base::FramePtr>> rings_;
  std::vector<base::FramePtr> shown_;
};

base::Result<OneFrame> PrepareProgram(const profiles::Profile& profile) {
  auto wall = Wall::Make(profile.sources);
  if (!wall) {
    return wall.error();
  }
  auto composer = std::make_shared<ProgramComposer>(profile.sources.size());
  auto pool = std::make_shared<PicturePool>(kWorkingFormat, profile.program_raster.width,
                                            profile.program_raster.height);
  const double rate = base::ToDouble(profile.program_rate);
  return OneFrame([wall = *wall, composer, pool, rate](std::int64_t index) -> base::Status {
    auto onto = pool->Get();
    if (!onto) {
      return onto.error();
    }
    return composer->Compose(wall->At(index), static_cast<double>(index) / rate, **onto);
  });
}

base::Result<OneFrame> PrepareMultiview(const profiles::Profile& profile) {
  auto wall = Wall::Make(profile.sources);
  if (!wall) {
    return wall.error();
  }
  const profiles::Raster raster = profile.multiview->raster;
  auto composer =
      std::make_shared<MultiviewComposer>(profile.sources.size(), raster.width, raster.height);
  auto pool = std::make_shared<PicturePool>(kWorkingFormat, raster.width, raster.height);
  return OneFrame([wall = *wall, composer, pool](std::int64_t index) -> base::Status {
    auto onto = pool->Get();
    if (!onto) {
      return onto.error();
    }
    return composer->Compose(wall->At(index), **onto);
  });
}

base::Result<OneFrame> PrepareScale(const profiles::Raster& from, const profiles::Raster& to) {
  auto pictures = PaintedPictures(profiles::Content::kTalk, from, kPicturesEach);
  if (!pictures) {
    return pictures.error();
  }
  auto ring = std::make_shared<std::vector<base::FramePtr>>(std::move(*pictures));
  auto scaler = std::make_shared<PictureScaler>();
  auto pool = std::make_shared<PicturePool>(kWorkingFormat, to.width, to.height);
  return OneFrame([ring, scaler, pool](std::int64_t index) -> base::Status {
    auto onto = pool->Get();
    if (!onto) {
      return onto.error();
    }
    return scaler->Draw(*(*ring)[static_cast<std::size_t>(index) % ring->size()], **onto,
                        {0, 0, (*onto)->width, (*onto)->height});
  });
}

}  // namespace

void RegisterCanvases(const profiles::Profile& profile) {
  RegisterStage(
      Stage::kCompose,
      fmt::format("{} from {}", profiles::ToText(profile.program_raster), profile.sources.size()),
      {profile.program_raster.width, profile.program_raster.height, ""},
      [profile] { return PrepareProgram(profile); });
  if (profile.multiview) {
    RegisterStage(Stage::kMultiview,
                  fmt::format("{} from {}", profiles::ToText(profile.multiview->raster),
                              profile.sources.size()),
                  {profile.multiview->raster.width, profile.multiview->raster.height, ""},
                  [profile] { return PrepareMultiview(profile); });
  }
  const auto plan = MakePlan(profile, {});
  if (!plan) {
    return;  // the encode stage says why
  }
  for (const OutputPlan& output : plan->outputs) {
    const profiles::Raster from = output.taken_raster;
    const profiles::Raster to = output.output.raster;
    if (from != to) {
      RegisterStage(Stage::kScale,
                    fmt::format("{} to {}", profiles::ToText(from), profiles::ToText(to)),
                    {from.width, from.height, ""}, [from, to] { return PrepareScale(from, to); });
    }
  }
}

}  // namespace bench::costs
