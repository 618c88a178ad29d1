#include "probes/forward_bytes.h"

#include <algorithm>
#include <chrono>
#include <utility>

namespace probes {
namespace {

constexpr std::int64_t kPageBytes = 4096;
constexpr std::size_t kWindowBytes = 1 << 20;
/// Longer contents (attachments) are skipped at any pace.
constexpr std::int64_t kAlwaysSkipped = 64 << 20;

}  // namespace

void ForwardBytes::Load(std::int64_t at, std::size_t count) {
  if (at >= begin_ && end() >= size()) {
    return;  // the end is at hand: there is no more to read
  }
  if (at >= size()) {
    window_.clear();
    first_ = 0;
    begin_ = size();
    return;
  }
  const std::int64_t before = end();
  const bool forward = at >= begin_ && at - before < kAlwaysSkipped && !window_.empty();
  const auto begun = std::chrono::steady_clock::now();
  if (pace_.skips()) {
    Read(at, static_cast<std::size_t>(2 * kPageBytes - at % kPageBytes));
  } else if (!forward) {
    Read(at, kWindowBytes);
  } else {
    while (end() < std::min(at + static_cast<std::int64_t>(count), size()) && !failed_) {
      GoOn(at);
    }
  }
  const std::chrono::duration<double> took = std::chrono::steady_clock::now() - begun;
  if (forward) {
    pace_.Note(end() - before, looks_, took.count());
  }
  looks_ = 0;
}

/// The piece behind the window, what is left of that from `at` on before it, and the next piece
/// asked for.
void ForwardBytes::GoOn(std::int64_t at) {
  const std::int64_t next = end();
  const std::int64_t kept = std::max<std::int64_t>(next - at, 0);  // less than kMostAtOnce
  if (!ahead_.Has(next)) {
    ahead_.Ask(next, kMostAtOnce, kWindowBytes);
  }
  std::vector<std::uint8_t> piece = std::move(spare_);
  ahead_.Take(piece);
  const auto tail = static_cast<std::size_t>(kept);
  std::copy(window_.end() - kept, window_.end(),
            piece.begin() + static_cast<std::ptrdiff_t>(kMostAtOnce - tail));
  window_.swap(piece);
  spare_ = std::move(piece);
  first_ = kMostAtOnce - tail;
  begin_ = next - kept;
  failed_ = failed_ || (end() < size() && window_.size() < kMostAtOnce + kWindowBytes);
  if (end() < size() && !failed_) {
    ahead_.Ask(end(), kMostAtOnce, kWindowBytes);
  }
}

void ForwardBytes::Read(std::int64_t at, std::size_t bytes) {
  ahead_.Drop();
  window_.resize(bytes);
  const std::size_t got = source_->ReadAt(at, window_);
  failed_ = failed_ || (got < bytes && at + static_cast<std::int64_t>(got) < size());
  window_.resize(got);
  first_ = 0;
  begin_ = at;
}

}  // namespace probes
