// SPDX-License-Identifier: Apache-2.0

#include "probes/usb/descriptor_walk.h"

#include <algorithm>

#include <fmt/format.h>

namespace probes {

std::optional<RawDescriptor> DescriptorWalk::Next() {
  if (ended_ || offset_ >= input_.size()) {
    return std::nullopt;
  }
  const std::size_t left = input_.size() - offset_;
  const std::size_t length = input_[offset_];
  std::string fault;
  if (length < 2) {
    fault = fmt::format("a descriptor at byte {} says it is {} bytes long", offset_, length);
  } else if (length > left) {
    fault = fmt::format("a descriptor of {} bytes at byte {} is cut off after {}", length, offset_,
                        left);
  }
  if (!fault.empty()) {
    ended_ = true;
    if (fault_.empty()) {
      fault_ = std::move(fault);
    }
    return std::nullopt;
  }
  const RawDescriptor found{input_[offset_ + 1], offset_, input_.subspan(offset_, length)};
  offset_ += length;
  return found;
}

void DescriptorWalk::ResumeAt(std::size_t offset) {
  offset_ = std::max(offset_, offset);
  ended_ = false;
}

std::uint8_t Le8(Bytes bytes, std::size_t offset) {
  return offset < bytes.size() ? bytes[offset] : std::uint8_t{0};
}

std::uint16_t Le16(Bytes bytes, std::size_t offset) {
  return static_cast<std::uint16_t>(Le8(bytes, offset) | (Le8(bytes, offset + 1) << 8));
}

std::uint32_t Le32(Bytes bytes, std::size_t offset) {
  return Le16(bytes, offset) | (static_cast<std::uint32_t>(Le16(bytes, offset + 2)) << 16U);
}

std::string GuidText(Bytes guid) {
  return fmt::format("{:08x}-{:04x}-{:04x}-{:02x}{:02x}-{:02x}{:02x}{:02x}{:02x}{:02x}{:02x}",
                     Le32(guid, 0), Le16(guid, 4), Le16(guid, 6), Le8(guid, 8), Le8(guid, 9),
                     Le8(guid, 10), Le8(guid, 11), Le8(guid, 12), Le8(guid, 13), Le8(guid, 14),
                     Le8(guid, 15));
}

}  // namespace probes
