#include "bench/compare/must_copy.h"

#include <chrono>
#include <cstdint>
#include <functional>
#include <thread>
#include <vector>

#include "bench/compose.h"
#include "bench/feed_ring.h"
#include "bench/ingest.h"
#include "bench/latest_picture.h"

namespace bench {
namespace {

std::int64_t Frames(const base::Rational& rate, double seconds) {
  return static_cast<std::int64_t>(seconds * base::ToDouble(rate));
}

}  // namespace

double SecondsForCopies(const profiles::Profile& profile, double seconds) {
  const std::size_t count = profile.sources.size();
  std::vector<FeedRing> rings;
  std::vector<Ingest> ingests;
  std::vector<LatestPicture> latest(count);
  LatestPicture program;
  for (std::size_t i = 0; i < count; ++i) {
    rings.push_back(std::move(*MakeFeedRing(profile.sources[i], "", 12, 1)));
    ingests.push_back(std::move(*Ingest::Open(profile.sources[i], rings[i].packet_codec, 1)));
  }
  const auto pictures = [&] {
    std::vector<base::FramePtr> newest;
    for (const LatestPicture& picture : latest) {
      newest.push_back(picture.Get());
    }
    return newest;
  };
  const auto begun = std::chrono::steady_clock::now();
  std::vector<std::jthread> threads;
  for (std::size_t i = 0; i < count; ++i) {
    threads.emplace_back([&, i] {
      for (std::int64_t k = 0; k < Frames(profile.sources[i].rate, seconds); ++k) {
        CaptureItem item;
        item.index = k;
        item.picture =
            base::Share(*rings[i].pictures[static_cast<std::size_t>(k) % rings[i].size()]);
        (void)ingests[i].Take(
            item, [&](base::FramePtr picture, std::int64_t) { latest[i].Set(std::move(picture)); });
      }
    });
  }
  threads.emplace_back([&] {
    ProgramComposer composer(count);
    PicturePool pool(kWorkingFormat, profile.program_raster.width, profile.program_raster.height);
    for (std::int64_t k = 0; k < Frames(profile.program_rate, seconds); ++k) {
      auto onto = pool.Get();
      (void)composer.Compose(pictures(),
                             static_cast<double>(k) / base::ToDouble(profile.program_rate), **onto);
      program.Set(std::move(*onto));
    }
  });
  if (profile.multiview) {
    threads.emplace_back([&] {
      const auto& view = *profile.multiview;
      MultiviewComposer composer(count + 1, view.raster.width, view.raster.height);
      PicturePool pool(kWorkingFormat, view.raster.width, view.raster.height);
      for (std::int64_t k = 0; k < Frames(view.rate, seconds); ++k) {
        auto onto = pool.Get();
        std::vector<base::FramePtr> tiles = pictures();
        tiles.push_back(program.Get());
        (void)composer.Compose(tiles, **onto);
      }
    });
  }
  threads.clear();
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
}

}  // namespace bench
