// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/bytes/reading_pace.h"

#include <algorithm>

namespace probes {
namespace {

constexpr std::int64_t kStretchBytes = 64 << 20;
/// A read brings a page and asks the disk once: nearer places are never worth skipping to.
constexpr std::int64_t kLeastApart = 16 << 10;
constexpr std::int64_t kMostPatience = 256;  // stretches; trying costs little then

}  // namespace

void ReadingPace::Note(std::int64_t bytes, std::int64_t looks, double seconds) {
  bytes_ += bytes;
  looks_ += looks;
  seconds_ += seconds;
  if (bytes_ >= kStretchBytes) {
    EndStretch();
    bytes_ = 0;
    looks_ = 0;
    seconds_ = 0;
  }
}

void ReadingPace::EndStretch() {
  const double s_per_byte = seconds_ / static_cast<double>(bytes_);
  const Way other = way_ == kWhole ? kSkip : kWhole;
  if (trying_) {
    trying_ = false;
    if (s_per_byte < other_s_per_byte_) {
      patience_ = 1;
    } else {
      way_ = other;
      patience_ = std::min(2 * patience_, kMostPatience);
    }
    stretches_left_ = patience_;
    return;
  }
  const bool far_apart = bytes_ / std::max<std::int64_t>(looks_, 1) >= kLeastApart;
  if (--stretches_left_ <= 0 && (way_ == kSkip || far_apart)) {
    trying_ = true;
    other_s_per_byte_ = s_per_byte;
    way_ = other;
  }
}

}  // namespace probes
