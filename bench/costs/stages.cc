// SPDX-License-Identifier: Apache-2.0

#include "bench/costs/stages.h"

#include <chrono>
#include <memory>
#include <set>
#include <utility>

#include "bench/feeds/clip_reader.h"
#include "bench/feeds/content.h"
#include "bench/feeds/paint_ring.h"
#include "bench/runs/cost_subject.h"
#include "bench/stages/picture_scaler.h"

namespace bench::costs {

namespace {

using Prepare = std::function<base::Result<OneFrame>()>;

// Encoders and decoders hold back their first frames; these are not measured.
constexpr std::int64_t kWarmUpFrames = 8;

/// A stage made ready. The library calls a benchmark several times to find how
/// often to repeat it; painting pictures and opening encoders is done once.
class Ready {
 public:
  explicit Ready(const Prepare& prepare) : one_frame_(prepare()) {
    for (std::int64_t i = 0; i < kWarmUpFrames && one_frame_; ++i) {
      if (const auto done = (*one_frame_)(next_++); !done) {
        one_frame_ = done.error();
      }
    }
  }

  base::Status Next() { return one_frame_ ? (*one_frame_)(next_++) : one_frame_.error(); }

 private:
  base::Result<OneFrame> one_frame_;
  std::int64_t next_ = 0;
};

/// Of the whole program; 0: none.
double budget_s = 0;
const auto kBegan = std::chrono::steady_clock::now();

bool TimeIsUp() {
  return budget_s > 0 &&
         std::chrono::duration<double>(std::chrono::steady_clock::now() - kBegan).count() >
             budget_s;
}

std::string held_name;
std::unique_ptr<Ready> held;

/// The stage at work; the one before it gives its memory back.
Ready& ReadyStage(const std::string& name, const Prepare& prepare) {
  if (held_name != name) {
    held.reset();
    held = std::make_unique<Ready>(prepare);
    held_name = name;
  }
  return *held;
}

void Measure(benchmark::State& state, const std::string& name, const Prepare& prepare) {
  if (held_name != name && TimeIsUp()) {
    state.SkipWithError("no time was left for it");
    return;
  }
  Ready& stage = ReadyStage(name, prepare);
  for ([[maybe_unused]] auto unused : state) {
    if (const auto done = stage.Next(); !done) {
      state.SkipWithError(done.error().detail.c_str());
      break;
    }
  }
}

}  // namespace

void SetBudget(double seconds) {
  budget_s = seconds;
}

void RegisterStage(Stage stage, const std::string& detail, const CostSubject& of,
                   std::function<base::Result<OneFrame>()> prepare) {
  static std::set<std::string> registered;
  const std::string name = std::string(base::WordOf(stage)) + "/" + detail;
  if (!registered.insert(name).second) {
    return;
  }
  benchmark::RegisterBenchmark(
      name.c_str(),
      [name, label = ToLabel(of), prepare = std::move(prepare)](benchmark::State& state) {
        Measure(state, name, prepare);
        state.SetLabel(label);
      })
      ->Unit(benchmark::kMillisecond)
      ->MeasureProcessCPUTime()
      ->UseRealTime();
}

base::Result<std::vector<base::FramePtr>> PaintedPictures(profiles::Content content,
                                                          const profiles::Raster& raster,
                                                          int count) {
  // The user's own clip has no painter; a talk stands in for it here.
  const profiles::Content painted =
      content == profiles::Content::kClip ? profiles::Content::kTalk : content;
  const Painter painter(painted, raster.width, raster.height, 1);
  return PaintRing(painter, raster, 0, count, count);
}

Shown ShownTo(const profiles::Profile& profile, const std::string& takes) {
  if (const profiles::Source* source = profiles::FindSource(profile, takes)) {
    return {source->content, source->clip};
  }
  Shown hardest{profiles::Content::kPlain, ""};
  for (const profiles::Source& source : profile.sources) {
    // The kinds stand in order of cost, and the clip behind them.
    if (source.content >= hardest.content) {
      hardest = {source.content, source.clip};
    }
  }
  return profile.sources.empty() ? Shown() : hardest;
}

base::Result<std::vector<base::FramePtr>> PicturesOf(const Shown& shown,
                                                     const profiles::Raster& raster, int count) {
  if (shown.content != profiles::Content::kClip) {
    return PaintedPictures(shown.content, raster, count);
  }
  auto clip = ReadClip(shown.clip, count, {});
  if (!clip) {
    return clip.error();
  }
  PictureScaler scaler;
  std::vector<base::FramePtr> pictures;
  for (const base::FramePtr& picture : *clip) {
    auto fitted = base::NewPicture(kWorkingFormat, raster.width, raster.height);
    if (!fitted) {
      return fitted.error();
    }
    if (auto drawn = scaler.Draw(*picture, **fitted, {0, 0, raster.width, raster.height}); !drawn) {
      return drawn.error();
    }
    pictures.push_back(std::move(*fitted));
  }
  for (std::size_t i = pictures.size(); i > 2; --i) {
    pictures.push_back(base::Share(*pictures[i - 2]));
  }
  return pictures;
}

}  // namespace bench::costs
