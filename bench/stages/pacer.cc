// SPDX-License-Identifier: Apache-2.0

#include "bench/stages/pacer.h"

#include <algorithm>
#include <limits>

namespace bench {
namespace {

constexpr std::int64_t kGone = std::numeric_limits<std::int64_t>::max();
/// Longest sleep in one piece, so that a stop is seen in time.
constexpr std::int64_t kSliceNs = 100'000'000;

}  // namespace

bool RealTimePacer::WaitTurn(int /*part*/, std::int64_t due_ns) {
  const std::int64_t deadline = start_ns_ + due_ns;
  while (!stopped_) {
    const std::int64_t now = clock_.NowNs();
    if (now >= deadline) {
      return true;
    }
    clock_.SleepUntilNs(std::min(deadline, now + kSliceNs));
  }
  return false;
}

int FlatOutPacer::Join() {
  const std::scoped_lock lock(mutex_);
  position_ns_.push_back(0);
  return static_cast<int>(position_ns_.size()) - 1;
}

std::int64_t FlatOutPacer::Slowest() const {
  const auto slowest = std::min_element(position_ns_.begin(), position_ns_.end());
  return slowest == position_ns_.end() || *slowest == kGone ? last_ns_ : *slowest;
}

bool FlatOutPacer::WaitTurn(int part, std::int64_t due_ns) {
  std::unique_lock lock(mutex_);
  position_ns_[static_cast<std::size_t>(part)] = due_ns;
  // Waking a thread costs more than a small frame: those that wait sleep until
  // the slowest has made room for several.
  if (Slowest() - woken_at_ns_ >= lead_ns_ / 2) {
    woken_at_ns_ = Slowest();
    moved_.notify_all();
  }
  moved_.wait(lock, [&] { return stopped_ || due_ns <= Slowest() + lead_ns_; });
  return !stopped_;
}

void FlatOutPacer::Leave(int part) {
  const std::scoped_lock lock(mutex_);
  std::int64_t& position = position_ns_[static_cast<std::size_t>(part)];
  last_ns_ = std::max(last_ns_, position == kGone ? 0 : position);
  position = kGone;
  moved_.notify_all();
}

std::int64_t FlatOutPacer::NowNs() const {
  const std::scoped_lock lock(mutex_);
  return Slowest();
}

void FlatOutPacer::Stop() {
  const std::scoped_lock lock(mutex_);
  stopped_ = true;
  moved_.notify_all();
}

}  // namespace bench
