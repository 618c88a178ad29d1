// SPDX-License-Identifier: Apache-2.0

#include "bench/compare/must_copy.h"

#include <chrono>
#include <cstdint>
#include <functional>
#include <thread>
#include <vector>

#include "bench/feeds/feed_ring.h"
#include "bench/pipeline/compose.h"
#include "bench/pipeline/ingest.h"
#include "bench/stages/latest_picture.h"

namespace bench {
namespace {

std::int64_t Frames(const base::Rational& rate, double seconds) {
  return static_cast<std::int64_t>(seconds * base::ToDouble(rate));
}

/// One function per chain of the engine, each to be run on a thread of its own.
class Copies {
 public:
  explicit Copies(const profiles::Profile& profile)
      : profile_(profile), latest_(profile.sources.size()) {
    constexpr int kRingFrames = 12;
    rings_.reserve(latest_.size());
    ingests_.reserve(latest_.size());
    for (const profiles::Source& source : profile.sources) {
      rings_.push_back(std::move(*MakeFeedRing(source, "", kRingFrames, 1, {})));
      ingests_.push_back(
          std::move(*Ingest::Open(source, rings_.back().packet_codec, SourcePlan{})));
    }
  }

  void Capture(std::size_t source, double seconds) {
    const FeedRing& ring = rings_[source];
    for (std::int64_t k = 0; k < Frames(profile_.sources[source].rate, seconds); ++k) {
      CaptureItem item;
      item.index = k;
      item.picture = base::Share(*ring.pictures[static_cast<std::size_t>(k) % ring.size()]);
      (void)ingests_[source].Take(item, [&](base::FramePtr picture, std::int64_t /*index*/) {
        latest_[source].Set(std::move(picture));
      });
    }
  }

  void Program(double seconds) {
    const profiles::Raster& raster = profile_.program_raster;
    ProgramComposer composer(latest_.size());
    PicturePool pool(kWorkingFormat, raster.width, raster.height);
    const double rate = base::ToDouble(profile_.program_rate);
    for (std::int64_t k = 0; k < Frames(profile_.program_rate, seconds); ++k) {
      auto onto = pool.Get();
      (void)composer.Compose(Pictures(), static_cast<double>(k) / rate, **onto);
      program_.Set(std::move(*onto));
    }
  }

  void View(const profiles::Multiview& view, double seconds) {
    MultiviewComposer composer(latest_.size() + 1, view.raster.width, view.raster.height);
    PicturePool pool(kWorkingFormat, view.raster.width, view.raster.height);
    for (std::int64_t k = 0; k < Frames(view.rate, seconds); ++k) {
      auto onto = pool.Get();
      std::vector<base::FramePtr> tiles = Pictures();
      tiles.push_back(program_.Get());
      (void)composer.Compose(tiles, **onto);
    }
  }

 private:
  std::vector<base::FramePtr> Pictures() const {
    std::vector<base::FramePtr> newest;
    newest.reserve(latest_.size() + 1);
    for (const LatestPicture& picture : latest_) {
      newest.push_back(picture.Get());
    }
    return newest;
  }

  const profiles::Profile& profile_;
  std::vector<FeedRing> rings_;
  std::vector<Ingest> ingests_;
  std::vector<LatestPicture> latest_;
  LatestPicture program_;
};

}  // namespace

double SecondsForCopies(const profiles::Profile& profile, double seconds) {
  Copies copies(profile);
  const auto begun = std::chrono::steady_clock::now();
  std::vector<std::jthread> threads;
  threads.reserve(profile.sources.size() + 2);
  for (std::size_t i = 0; i < profile.sources.size(); ++i) {
    threads.emplace_back([&copies, i, seconds] { copies.Capture(i, seconds); });
  }
  threads.emplace_back([&] { copies.Program(seconds); });
  if (profile.multiview) {
    threads.emplace_back([&] { copies.View(*profile.multiview, seconds); });
  }
  threads.clear();  // joins
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
}

}  // namespace bench
