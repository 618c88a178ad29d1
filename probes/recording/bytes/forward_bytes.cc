// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/bytes/forward_bytes.h"

#include <algorithm>
#include <chrono>

namespace probes {
namespace {

constexpr std::int64_t kPageBytes = 4096;
constexpr std::size_t kWindowBytes = 1 << 20;
/// What the disk is asked for beforehand, so that it works while the window is looked at.
constexpr std::int64_t kAheadBytes = 4 << 20;
/// Longer contents (attachments) are skipped at any pace.
constexpr std::int64_t kAlwaysSkipped = 64 << 20;

}  // namespace

void ForwardBytes::Load(std::int64_t at, std::size_t count) {
  const auto wanted = static_cast<std::int64_t>(count);
  if (at >= size()) {
    window_.clear();
    begin_ = at;
    return;
  }
  if (at >= begin_ && at + wanted > size() && begin_ + Length() >= size()) {
    // The end is at hand: there is no more to read.
    window_.erase(window_.begin(), window_.begin() + std::min(at - begin_, Length()));
    begin_ = at;
    return;
  }
  const std::int64_t before = begin_ + Length();
  const bool forward = at >= begin_ && at - before < kAlwaysSkipped;
  const auto begun = std::chrono::steady_clock::now();
  if (pace_.skips()) {
    Read(at, static_cast<std::size_t>(2 * kPageBytes - at % kPageBytes));
  } else {
    if (forward) {
      ReadUpTo(at);
    }
    Read(at, kWindowBytes);
    const std::int64_t ahead = begin_ + Length() + kAheadBytes;
    expected_to_ = std::clamp(expected_to_, begin_ + Length(), ahead);
    source_->Expect(expected_to_, ahead - expected_to_);
    expected_to_ = ahead;
  }
  const std::chrono::duration<double> took = std::chrono::steady_clock::now() - begun;
  if (forward) {
    pace_.Note(begin_ + Length() - before, looks_, took.count());
  }
  looks_ = 0;
}

/// Everything between the window and `at`, which a disk gives faster than what lies apart.
void ForwardBytes::ReadUpTo(std::int64_t at) {
  while (begin_ + Length() < at && !window_.empty()) {
    const std::int64_t next = begin_ + Length();
    Read(next,
         static_cast<std::size_t>(std::min(at - next, static_cast<std::int64_t>(kWindowBytes))));
  }
}

void ForwardBytes::Read(std::int64_t at, std::size_t bytes) {
  window_.resize(bytes);
  const std::size_t got = source_->ReadAt(at, window_);
  failed_ = failed_ || (got < bytes && at + static_cast<std::int64_t>(got) < size());
  window_.resize(got);
  begin_ = at;
}

}  // namespace probes
