// SPDX-License-Identifier: Apache-2.0
//
// Extra memory traffic: copies through buffers that no cache holds.

#include <algorithm>
#include <cstring>
#include <new>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "bench/ballast/works.h"

namespace bench {
namespace {

constexpr std::int64_t kChunkBytes = 4 << 20;

class CopyWork : public BallastWork {
 public:
  /// `bytes`: two halves of whole chunks.
  explicit CopyWork(std::int64_t bytes)
      : chunks_(bytes / 2 / kChunkBytes),
        data_(std::make_unique_for_overwrite<std::uint8_t[]>(static_cast<std::size_t>(bytes))) {
    // Touched: pages of its own, not one page of zeros many times.
    std::memset(data_.get(), 1, static_cast<std::size_t>(bytes));
  }

  base::Result<std::int64_t> DoOne() override {
    const std::int64_t at = count_ % chunks_;
    const bool back = count_ / chunks_ % 2 == 1;
    std::uint8_t* const low = data_.get() + at * kChunkBytes;
    std::uint8_t* const high = low + chunks_ * kChunkBytes;
    std::memcpy(back ? low : high, back ? high : low, kChunkBytes);
    ++count_;
    return 2 * kChunkBytes;
  }

 private:
  const std::int64_t chunks_;
  std::unique_ptr<std::uint8_t[]> data_;
  std::int64_t count_ = 0;
};

}  // namespace

BallastRecipe MemoryBallast(std::int64_t buffer_bytes, int threads) {
  const std::int64_t pairs = std::max<std::int64_t>(1, buffer_bytes / threads / (2 * kChunkBytes));
  const std::int64_t each = pairs * 2 * kChunkBytes;
  BallastRecipe recipe;
  recipe.kind = LoadKind::kMemory;
  recipe.threads = threads;
  recipe.method = fmt::format("copies through {} of memory, {} at a time",
                              base::FormatBytes(static_cast<double>(each * threads)), threads);
  recipe.make = [each](int /*index*/) -> base::Result<std::unique_ptr<BallastWork>> {
    try {
      return std::unique_ptr<BallastWork>(std::make_unique<CopyWork>(each));
    } catch (const std::bad_alloc&) {
      return base::Error{base::ErrorKind::kIo, "extra load on memory",
                         "there is not enough memory"};
    }
  };
  return recipe;
}

}  // namespace bench
