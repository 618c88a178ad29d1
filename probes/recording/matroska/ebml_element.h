// SPDX-License-Identifier: Apache-2.0
//
// Elements of EBML documents (RFC 8794).

#pragma once

#include <cstdint>
#include <optional>
#include <span>

namespace probes {

struct EbmlElement {
  std::uint32_t id = 0;     // with its length marker, as standards write it
  std::int64_t begin = 0;   // of its content
  std::int64_t bytes = 0;   // of its content
  bool open_ended = false;  // its size is not told: it ends where no more of its children follow

  std::int64_t end() const { return begin + bytes; }
};

/// No head of an element is longer: IDs of 4 bytes and sizes of 8.
inline constexpr std::size_t kMostEbmlHead = 12;

/// The element whose head these bytes, from `at` of the file on, begin with. Nothing where they are
/// too few or no such head: IDs as in 5 of the RFC, sizes as in 6.
std::optional<EbmlElement> ReadEbmlElement(std::span<const std::uint8_t> bytes, std::int64_t at);

/// A number of variable length (4) at the beginning of bytes.
struct EbmlNumber {
  std::uint64_t value = 0;
  std::size_t length = 0;
  bool all_ones = false;  // stands for a size that is not told
};
std::optional<EbmlNumber> ReadEbmlNumber(std::span<const std::uint8_t> bytes);

/// Unsigned integer (7.2) that fills the bytes; of more than 8 the first 8.
std::uint64_t ReadEbmlUnsigned(std::span<const std::uint8_t> bytes);

}  // namespace probes
