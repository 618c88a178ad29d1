// SPDX-License-Identifier: Apache-2.0

#include "bench/stages/busy_seconds.h"

#include <algorithm>
#include <cstddef>

namespace bench {
namespace {

constexpr std::int64_t kNsPerSecond = 1'000'000'000;
/// A clock that jumps must not make a list without end.
constexpr std::int64_t kMostSeconds = 7LL * 24 * 3600;

}  // namespace

void BusySeconds::Add(std::int64_t begun_ns, std::int64_t ended_ns) {
  begun_ns = std::max<std::int64_t>(begun_ns, 0);
  if (ended_ns < begun_ns || ended_ns / kNsPerSecond >= kMostSeconds) {
    return;
  }
  const std::scoped_lock lock(mutex_);
  const auto last = static_cast<std::size_t>(ended_ns / kNsPerSecond);
  if (last >= seconds_.size()) {
    seconds_.resize(last + 1);
  }
  for (auto second = static_cast<std::size_t>(begun_ns / kNsPerSecond); second <= last; ++second) {
    const std::int64_t from_ns = static_cast<std::int64_t>(second) * kNsPerSecond;
    seconds_[second].busy_ns +=
        std::min(ended_ns, from_ns + kNsPerSecond) - std::max(begun_ns, from_ns);
  }
  ++seconds_[last].calls;
  seconds_[last].longest_ns = std::max(seconds_[last].longest_ns, ended_ns - begun_ns);
}

std::vector<BusySeconds::Second> BusySeconds::seconds() const {
  const std::scoped_lock lock(mutex_);
  return seconds_;
}

std::vector<StageSecond> JoinSeconds(const BusySeconds& encode, const BusySeconds& write) {
  const auto encoding = encode.seconds();
  const auto writing = write.seconds();
  std::vector<StageSecond> joined(std::max(encoding.size(), writing.size()));
  const auto share = [](std::int64_t ns) {
    return std::min(1.0, static_cast<double>(ns) / static_cast<double>(kNsPerSecond));
  };
  for (std::size_t i = 0; i < encoding.size(); ++i) {
    joined[i].encoded = encoding[i].calls;
    joined[i].encode_busy = share(encoding[i].busy_ns);
    joined[i].encode_longest_ms = static_cast<double>(encoding[i].longest_ns) / 1e6;
  }
  for (std::size_t i = 0; i < writing.size(); ++i) {
    joined[i].write_busy = share(writing[i].busy_ns);
    joined[i].write_longest_ms = static_cast<double>(writing[i].longest_ns) / 1e6;
  }
  return joined;
}

}  // namespace bench
