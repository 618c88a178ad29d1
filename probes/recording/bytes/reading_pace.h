// SPDX-License-Identifier: Apache-2.0
//
// Whether a file gets read faster whole, or only where one has to look. A disk that seeks, one that
// does not and the page cache differ by a thousand: it is measured while reading.

#pragma once

#include <cstdint>

namespace probes {

class ReadingPace {
 public:
  /// Whether what lies between two places that are looked at is passed over.
  bool skips() const { return way_ == kSkip; }

  /// One read took `seconds` and brought the reading on by `bytes`, over `looks` places.
  void Note(std::int64_t bytes, std::int64_t looks, double seconds);

 private:
  enum Way { kWhole, kSkip };

  void EndStretch();

  Way way_ = kWhole;
  bool trying_ = false;
  std::int64_t bytes_ = 0;  // of the stretch at hand
  std::int64_t looks_ = 0;
  double seconds_ = 0;
  double other_s_per_byte_ = 0;      // of the way that is being tried against
  std::int64_t stretches_left_ = 1;  // until the other way is tried again
  std::int64_t patience_ = 1;
};

}  // namespace probes
