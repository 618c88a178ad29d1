// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/iso/box.h"

#include <algorithm>

namespace probes {
namespace {

constexpr int kMostBoxesInside = 10'000;
constexpr std::int64_t kMostContent = 4096;

}  // namespace

std::optional<IsoBox> ReadIsoBox(ByteWindow& bytes, std::int64_t at, std::int64_t limit) {
  if (at < 0 || at > limit - 8) {
    return std::nullopt;
  }
  const auto size = bytes.Number(at, 4);
  const auto type = bytes.Number(at + 4, 4);
  if (!size || !type) {
    return std::nullopt;
  }
  IsoBox box{static_cast<std::uint32_t>(*type), at + 8, limit, false};
  std::uint64_t length = *size;
  if (length == 0) {
    return box;  // to the end
  }
  if (length == 1) {
    const auto wide = bytes.Number(at + 8, 8);
    if (!wide || at > limit - 16) {
      return std::nullopt;
    }
    box.begin = at + 16;
    length = *wide;
  }
  if (length < static_cast<std::uint64_t>(box.begin - at)) {
    return std::nullopt;
  }
  if (length > static_cast<std::uint64_t>(limit - at)) {
    box.cut = true;
  } else {
    box.end = at + static_cast<std::int64_t>(length);
  }
  return box;
}

void EachBox(ByteWindow& bytes, const IsoBox& parent,
             const std::function<void(const IsoBox&)>& visit, std::int64_t offset) {
  std::int64_t at = parent.begin + offset;
  for (int count = 0; count < kMostBoxesInside; ++count) {
    const auto box = ReadIsoBox(bytes, at, parent.end);
    if (!box) {
      return;
    }
    visit(*box);
    at = box->end;
  }
}

std::optional<IsoBox> BoxIn(ByteWindow& bytes, const IsoBox& parent, std::uint32_t type,
                            std::int64_t offset) {
  std::optional<IsoBox> found;
  EachBox(
      bytes, parent,
      [&](const IsoBox& box) {
        if (box.type == type && !found) {
          found = box;
        }
      },
      offset);
  return found;
}

std::uint64_t NumberIn(ByteWindow& bytes, const IsoBox& box, std::int64_t offset,
                       std::size_t count) {
  if (box.begin + offset + static_cast<std::int64_t>(count) > box.end) {
    return 0;
  }
  return bytes.Number(box.begin + offset, count).value_or(0);
}

std::vector<std::uint8_t> ContentOf(ByteWindow& bytes, const IsoBox& box, std::int64_t at) {
  std::vector<std::uint8_t> content;
  for (const std::int64_t end = std::min(box.end, at + kMostContent); at < end; ++at) {
    content.push_back(static_cast<std::uint8_t>(bytes.Number(at, 1).value_or(0)));
  }
  return content;
}

}  // namespace probes
