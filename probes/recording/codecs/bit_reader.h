// SPDX-License-Identifier: Apache-2.0
//
// Bits of a codec's configuration one after another, the most significant of a byte first.

#pragma once

#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

namespace probes {

class BitReader {
 public:
  explicit BitReader(std::vector<std::uint8_t> bytes) : bytes_(std::move(bytes)) {}

  /// Whether more was read than there is; the rest were zeros.
  bool over() const { return at_ > 8 * bytes_.size(); }
  /// `count` up to 32.
  std::uint32_t Next(int count) {
    std::uint32_t value = 0;
    for (int i = 0; i < count; ++i, ++at_) {
      const bool set = at_ / 8 < bytes_.size() && (bytes_[at_ / 8] >> (7 - at_ % 8) & 1U) != 0;
      value = value << 1U | (set ? 1U : 0U);
    }
    return value;
  }
  bool Flag() { return Next(1) == 1; }

 private:
  std::vector<std::uint8_t> bytes_;
  std::size_t at_ = 0;
};

}  // namespace probes
