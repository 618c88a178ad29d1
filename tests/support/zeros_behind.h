// SPDX-License-Identifier: Apache-2.0
//
// A file that nobody reads to its end.

#pragma once

#include <algorithm>
#include <cstdint>
#include <span>
#include <string>
#include <utility>

#include "probes/recording/bytes/byte_source.h"

namespace tests {

/// A file of its head and as many zeros as its size says.
class ZerosBehind : public probes::ByteSource {
 public:
  ZerosBehind(std::string head, std::int64_t size) : head_(std::move(head)), size_(size) {}

  std::int64_t size() const override { return size_; }
  std::size_t ReadAt(std::int64_t at, std::span<std::uint8_t> into) override {
    std::fill(into.begin(), into.end(), std::uint8_t{0});
    const auto from = static_cast<std::size_t>(at);
    if (from < head_.size()) {
      std::copy_n(head_.begin() + static_cast<std::ptrdiff_t>(from),
                  std::min(head_.size() - from, into.size()), into.begin());
    }
    return into.size();
  }

 private:
  std::string head_;
  std::int64_t size_;
};

}  // namespace tests
