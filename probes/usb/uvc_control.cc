// SPDX-License-Identifier: Apache-2.0

#include "probes/usb/uvc_control.h"

#include <algorithm>
#include <array>
#include <string_view>
#include <utility>

#include <fmt/format.h>

namespace probes {
namespace {

// VideoControl subtypes: UVC 1.5, table A-5.
constexpr int kHeader = 0x01;
constexpr int kInputTerminal = 0x02;
constexpr int kOutputTerminal = 0x03;
constexpr std::size_t kHeaderBytes = 12;

constexpr int kStreamingTerminal = 0x0101;
constexpr int kCameraTerminal = 0x0201;

/// Where a terminal or unit names what feeds it; offsets of 0: it has no such field.
struct EntityLayout {
  int subtype = 0;
  std::string_view kind;
  std::size_t least_bytes = 0;
  std::size_t source_count = 0;  // 0 with `sources` given: exactly one
  std::size_t sources = 0;
};

constexpr auto kEntities = std::to_array<EntityLayout>({
    {kInputTerminal, "input", 8, 0, 0},
    {kOutputTerminal, "output", 9, 0, 7},
    {0x04, "selector", 5, 4, 5},
    {0x05, "processing", 5, 0, 4},
    {0x06, "extension", 22, 21, 22},
    {0x07, "encoding", 5, 0, 4},
});

std::string_view KindOf(const EntityLayout& layout, int terminal_type) {
  if (terminal_type == kStreamingTerminal && layout.subtype == kOutputTerminal) {
    return "usb output";
  }
  return terminal_type == kCameraTerminal ? "camera" : layout.kind;
}

/// `count` bytes from `offset` on, or those that are there.
std::vector<int> Numbers(Bytes bytes, std::size_t offset, std::size_t count) {
  const Bytes rest = bytes.subspan(std::min(offset, bytes.size()));
  const Bytes there = rest.first(std::min(count, rest.size()));
  return {there.begin(), there.end()};
}

}  // namespace

std::string UvcControlReader::Take(Bytes descriptor) {
  const int subtype = Le8(descriptor, 2);
  return subtype == kHeader ? TakeHeader(descriptor) : TakeEntity(descriptor, subtype);
}

std::string UvcControlReader::TakeHeader(Bytes descriptor) {
  if (descriptor.size() < kHeaderBytes) {
    return "control header is too short";
  }
  const int version = Le16(descriptor, 3);
  function_.uvc_version = fmt::format("{:x}.{:02x}", version >> 8, version & 0xff);
  const std::size_t claimed = Le8(descriptor, 11);
  streaming_interfaces_ = Numbers(descriptor, kHeaderBytes, claimed);
  return streaming_interfaces_.size() < claimed
             ? "control header lacks some of the streaming interfaces that it counts"
             : "";
}

std::string UvcControlReader::TakeEntity(Bytes descriptor, int subtype) {
  const auto* layout = std::ranges::find(kEntities, subtype, &EntityLayout::subtype);
  if (layout == kEntities.end()) {
    return "";  // of a later version of the class
  }
  if (descriptor.size() < layout->least_bytes) {
    return fmt::format("{} terminal or unit is too short", layout->kind);
  }
  VideoEntity entity;
  entity.id = Le8(descriptor, 3);
  if (subtype == kInputTerminal || subtype == kOutputTerminal) {
    entity.terminal_type = Le16(descriptor, 4);
  }
  entity.kind = KindOf(*layout, entity.terminal_type);
  std::size_t claimed = layout->sources == 0 ? 0 : 1;
  if (layout->source_count != 0) {
    claimed = Le8(descriptor, layout->source_count);
  }
  entity.sources = Numbers(descriptor, layout->sources, claimed);
  const bool lacks = entity.sources.size() < claimed;
  function_.entities.push_back(std::move(entity));
  return lacks ? fmt::format("{} unit lacks some of the sources that it counts", layout->kind) : "";
}

}  // namespace probes
