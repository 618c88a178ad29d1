// SPDX-License-Identifier: Apache-2.0
//
// Steps through USB descriptors (length, type, body) without believing any length they claim.

#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>

namespace probes {

using Bytes = std::span<const std::uint8_t>;

/// One descriptor with its own two header bytes; `bytes` lies wholly inside the input.
struct RawDescriptor {
  int type = 0;
  std::size_t offset = 0;
  Bytes bytes;
};

/// Gives descriptors one after the other until the input or its sense ends.
/// After the last one, `fault()` tells why it stopped early, or is empty.
class DescriptorWalk {
 public:
  explicit DescriptorWalk(Bytes input) : input_(input) {}

  std::optional<RawDescriptor> Next();
  /// Goes on at `offset` (never backwards), with the fault kept.
  void ResumeAt(std::size_t offset);

  std::size_t offset() const { return offset_; }
  const std::string& fault() const { return fault_; }

 private:
  Bytes input_;
  std::size_t offset_ = 0;
  bool ended_ = false;
  std::string fault_;
};

/// The byte or little-endian number at `offset`; 0 beyond the end.
std::uint8_t Le8(Bytes bytes, std::size_t offset);
std::uint16_t Le16(Bytes bytes, std::size_t offset);
std::uint32_t Le32(Bytes bytes, std::size_t offset);

/// 16 bytes as a descriptor holds a GUID: "36715e7a-...".
std::string GuidText(Bytes guid);

}  // namespace probes
