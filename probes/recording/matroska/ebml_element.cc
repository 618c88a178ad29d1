// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/matroska/ebml_element.h"

#include <algorithm>
#include <bit>

namespace probes {
namespace {

constexpr std::size_t kMostIdBytes = 4;

}  // namespace

std::optional<EbmlNumber> ReadEbmlNumber(std::span<const std::uint8_t> bytes) {
  if (bytes.empty() || bytes[0] == 0) {
    return std::nullopt;
  }
  const auto length = static_cast<std::size_t>(std::countl_zero(bytes[0])) + 1;
  if (bytes.size() < length) {
    return std::nullopt;
  }
  std::uint64_t value = 0;
  for (std::size_t i = 0; i < length; ++i) {
    value = value << 8 | bytes[i];
  }
  const std::uint64_t mask = (std::uint64_t{1} << (7 * length)) - 1;
  value &= mask;
  return EbmlNumber{value, length, value == mask};
}

std::uint64_t ReadEbmlUnsigned(std::span<const std::uint8_t> bytes) {
  std::uint64_t value = 0;
  for (const std::uint8_t byte : bytes.first(std::min<std::size_t>(bytes.size(), 8))) {
    value = value << 8 | byte;
  }
  return value;
}

std::optional<EbmlElement> ReadEbmlElement(std::span<const std::uint8_t> bytes, std::int64_t at) {
  const auto id = ReadEbmlNumber(bytes);
  if (!id || id->length > kMostIdBytes || id->value == 0 || id->all_ones) {
    return std::nullopt;
  }
  const auto size = ReadEbmlNumber(bytes.subspan(id->length));
  if (!size) {
    return std::nullopt;
  }
  EbmlElement element;
  element.id = static_cast<std::uint32_t>(ReadEbmlUnsigned(bytes.first(id->length)));
  element.begin = at + static_cast<std::int64_t>(id->length + size->length);
  element.open_ended = size->all_ones;
  element.bytes = element.open_ended ? 0 : static_cast<std::int64_t>(size->value);
  return element;
}

}  // namespace probes
