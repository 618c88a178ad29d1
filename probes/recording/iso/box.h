// SPDX-License-Identifier: Apache-2.0
//
// The boxes that MP4 and MOV files are made of (ISO/IEC 14496-12, 4.2).

#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <vector>

#include "probes/recording/bytes/byte_source.h"

namespace probes {

/// A box: four letters, and where its content lies.
struct IsoBox {
  std::uint32_t type = 0;
  std::int64_t begin = 0;
  std::int64_t end = 0;  // never past what holds it
  bool cut = false;      // it claims to be longer than what holds it
};

constexpr std::uint32_t IsoType(const char (&letters)[5]) {
  std::uint32_t type = 0;
  for (int i = 0; i < 4; ++i) {
    type = type << 8 | static_cast<std::uint8_t>(letters[i]);
  }
  return type;
}

/// The box at `at`, inside `limit`; nothing where there is none.
std::optional<IsoBox> ReadIsoBox(ByteWindow& bytes, std::int64_t at, std::int64_t limit);

/// The boxes one after the other from `offset` in the content of `parent` on.
void EachBox(ByteWindow& bytes, const IsoBox& parent,
             const std::function<void(const IsoBox&)>& visit, std::int64_t offset = 0);

/// The first of them of that type.
std::optional<IsoBox> BoxIn(ByteWindow& bytes, const IsoBox& parent, std::uint32_t type,
                            std::int64_t offset = 0);

/// Big-endian number of `count` bytes at `offset` in a box's content; 0 past its end.
std::uint64_t NumberIn(ByteWindow& bytes, const IsoBox& box, std::int64_t offset,
                       std::size_t count);

/// The content of a box from `at`, a place in the file, to its end; a few thousand bytes at most.
std::vector<std::uint8_t> ContentOf(ByteWindow& bytes, const IsoBox& box, std::int64_t at);

}  // namespace probes
