// SPDX-License-Identifier: Apache-2.0
//
// Bytes of a file that is looked at from its beginning to its end, here and there only.

#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "probes/recording/bytes/byte_source.h"
#include "probes/recording/bytes/reading_pace.h"

namespace probes {

class ForwardBytes {
 public:
  explicit ForwardBytes(ByteSource& source) : source_(&source) {}

  std::int64_t size() const { return source_->size(); }

  /// The bytes from `at` on: at least `count` of them, at most kMostAtOnce, or all up to the end.
  /// They hold until the next call.
  std::span<const std::uint8_t> At(std::int64_t at, std::size_t count) {
    ++looks_;
    const std::int64_t offset = at - begin_;
    if (offset < 0 || offset + static_cast<std::int64_t>(count) > Length()) {
      Load(at, count);
      return window_;
    }
    return std::span(window_).subspan(static_cast<std::size_t>(offset));
  }

  static constexpr std::size_t kMostAtOnce = 4096;

  /// Whether a place inside the file could not be read.
  bool failed() const { return failed_; }

 private:
  std::int64_t Length() const { return static_cast<std::int64_t>(window_.size()); }
  void Load(std::int64_t at, std::size_t count);
  void ReadUpTo(std::int64_t at);
  void Read(std::int64_t at, std::size_t bytes);

  ByteSource* source_;
  ReadingPace pace_;
  std::vector<std::uint8_t> window_;
  std::int64_t begin_ = 0;
  std::int64_t looks_ = 0;
  std::int64_t expected_to_ = 0;
  bool failed_ = false;
};

}  // namespace probes
