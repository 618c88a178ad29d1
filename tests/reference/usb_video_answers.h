// SPDX-License-Identifier: Apache-2.0
//
// The descriptors of lsusb -v (usbutils) block by block, for what has many kinds of them.

#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace tests {

/// One "... Descriptor:" or "... Device Capability:" with the lines below it.
struct LsusbBlock {
  int bus = 0;
  int number = 0;     // of the device on its bus
  int interface = 0;  // the bInterfaceNumber above it
  std::string heading;
  std::string subtype;  // "FORMAT_MJPEG", "" where there is none
  std::vector<std::pair<std::string, std::string>> fields;  // without the "( 0)" of lists
  std::string text;                                         // as printed

  /// First value of `key`; 0 where it is missing. "0x" tells the base.
  std::int64_t Number(std::string_view key) const;
  std::string Text(std::string_view key) const;
  std::vector<std::int64_t> Numbers(std::string_view key) const;
};

std::vector<LsusbBlock> ParseLsusbBlocks(std::string_view text);

/// What the blocks of one device say of its video functions, one line for each control
/// interface, terminal or unit, stream and format, in their order.
std::vector<std::string> VideoLines(const std::vector<LsusbBlock>& blocks, int bus, int number);

/// The capabilities of one device put together again as bytes, from the fields as printed.
std::vector<std::uint8_t> BosBytes(const std::vector<LsusbBlock>& blocks, int bus, int number);

}  // namespace tests
