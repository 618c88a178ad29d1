// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/paint_ring.h"

#include <algorithm>
#include <atomic>
#include <cstddef>
#include <future>
#include <thread>

#include "bench/stages/picture_scaler.h"

namespace bench {

base::Result<std::vector<base::FramePtr>> PaintRing(const Painter& painter,
                                                    const profiles::Raster& raster, int first,
                                                    int many, int count, int workers) {
  std::vector<base::FramePtr> pictures;
  for (int i = 0; i < many; ++i) {
    auto picture = base::NewPicture(kWorkingFormat, raster.width, raster.height);
    if (!picture) {
      return picture.error();
    }
    pictures.push_back(std::move(*picture));
  }
  const int cpus = static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
  std::atomic<int> next = 0;
  // Each hands on what it throws: memory may run out in any of them.
  std::vector<std::future<void>> painting;
  for (int i = 0; i < std::min(many, workers > 0 ? workers : cpus); ++i) {
    painting.push_back(std::async(std::launch::async, [&] {
      for (int at = next++; at < many; at = next++) {
        painter.Paint(first + at, count, *pictures[static_cast<std::size_t>(at)]);
      }
    }));
  }
  for (std::future<void>& part : painting) {
    part.get();
  }
  return pictures;
}

}  // namespace bench
