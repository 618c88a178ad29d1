// SPDX-License-Identifier: Apache-2.0

#include "tests/reference/usb_video_answers.h"

#include <algorithm>
#include <map>
#include <regex>

#include <fmt/format.h>

#include "base/text.h"

namespace tests {
namespace {

std::int64_t ToNumber(const std::string& text) {
  return text.empty() || (text[0] < '0' || text[0] > '9') ? 0 : std::stoll(text, nullptr, 0);
}

/// Descriptors of UVC 1.5 as lsusb calls them, under our names.
std::string EntityKind(const LsusbBlock& block) {
  static const std::map<std::string, std::string> kKinds = {{"INPUT_TERMINAL", "input"},
                                                            {"OUTPUT_TERMINAL", "output"},
                                                            {"SELECTOR_UNIT", "selector"},
                                                            {"PROCESSING_UNIT", "processing"},
                                                            {"EXTENSION_UNIT", "extension"}};
  // wTerminalType: UVC 1.5, tables B-1 to B-3.
  if (block.subtype == "INPUT_TERMINAL" && block.Number("wTerminalType") == 0x0201) {
    return "camera";
  }
  if (block.subtype == "OUTPUT_TERMINAL" && block.Number("wTerminalType") == 0x0101) {
    return "usb output";
  }
  const auto found = kKinds.find(block.subtype);
  return found == kKinds.end() ? block.subtype : found->second;
}

std::string FormatKind(const std::string& subtype) {
  static const std::map<std::string, std::string> kKinds = {
      {"FORMAT_UNCOMPRESSED", "uncompressed"}, {"FORMAT_MJPEG", "mjpeg"},
      {"FORMAT_FRAME_BASED", "frame based"},   {"FORMAT_STREAM_BASED", "stream based"},
      {"FORMAT_MPEG2TS", "mpeg2-ts"},          {"FORMAT_DV", "dv"}};
  const auto found = kKinds.find(subtype);
  return found == kKinds.end() ? subtype : found->second;
}

/// "(BT.709,sRGB)" as "BT.709": what stands for the same value in our words.
std::string ColourName(const std::string& more) {
  if (more == "BT.709,sRGB") {
    return "BT.709";
  }
  return more == "SMPTE 170M (BT.601)" ? "BT.601" : more;
}

void AddControlLine(const LsusbBlock& block, std::vector<std::string>& lines) {
  if (block.subtype == "HEADER") {
    lines.push_back(fmt::format("control {} version {}", block.interface, block.Text("bcdUVC")));
    return;
  }
  std::vector<std::int64_t> sources = block.Numbers("baSourceID");
  for (const std::int64_t source : block.Numbers("bSourceID")) {
    sources.push_back(source);
  }
  const bool unit = block.Text("bTerminalID").empty();
  lines.push_back(fmt::format("entity {} {} type {:#06x} from {}",
                              block.Number(unit ? "bUnitID" : "bTerminalID"), EntityKind(block),
                              block.Number("wTerminalType"), fmt::join(sources, ",")));
}

void AddStreamLine(const LsusbBlock& block, std::vector<std::string>& lines) {
  if (block.subtype == "INPUT_HEADER" || block.subtype == "OUTPUT_HEADER") {
    lines.push_back(fmt::format("stream {} endpoint {:#x} terminal {} still {} formats {}",
                                block.interface, block.Number("bEndpointAddress"),
                                block.Number("bTerminalLink"), block.Number("bStillCaptureMethod"),
                                block.Number("bNumFormats")));
  } else if (block.subtype.starts_with("FORMAT_")) {
    lines.push_back(fmt::format("format {} {} frames {} interlaced {}",
                                block.Number("bFormatIndex"), FormatKind(block.subtype),
                                block.Number("bNumFrameDescriptors"),
                                block.Number("bmInterlaceFlags") & 1));
  } else if (block.subtype == "STILL_IMAGE_FRAME") {
    const auto widths = block.Numbers("wWidth");
    const auto heights = block.Numbers("wHeight");
    for (std::size_t i = 0; i < std::min(widths.size(), heights.size()); ++i) {
      lines.back() += fmt::format(" still {}x{}", widths[i], heights[i]);
    }
  } else if (block.subtype == "COLORFORMAT") {
    std::vector<std::string> names;
    for (const std::string key :
         {"bColorPrimaries", "bTransferCharacteristics", "bMatrixCoefficients"}) {
      std::smatch found;
      const std::regex line(key + R"(\s+\d+ \((.*)\)\n)");
      names.push_back(std::regex_search(block.text, found, line) ? ColourName(found[1].str()) : "");
    }
    lines.back() += fmt::format(" colour {}", fmt::join(names, " / "));
  }
}

void Append(std::vector<std::uint8_t>& bytes, std::int64_t value, int count) {
  for (int i = 0; i < count; ++i) {
    bytes.push_back(static_cast<std::uint8_t>((value >> (8 * i)) & 0xff));
  }
}

}  // namespace

std::int64_t LsusbBlock::Number(std::string_view key) const {
  return ToNumber(Text(key));
}

std::string LsusbBlock::Text(std::string_view key) const {
  const auto found = std::ranges::find(fields, key, &std::pair<std::string, std::string>::first);
  return found == fields.end() ? std::string() : found->second;
}

std::vector<std::int64_t> LsusbBlock::Numbers(std::string_view key) const {
  std::vector<std::int64_t> numbers;
  for (const auto& [name, value] : fields) {
    if (name == key) {
      numbers.push_back(ToNumber(value));
    }
  }
  return numbers;
}

std::vector<LsusbBlock> ParseLsusbBlocks(std::string_view text) {
  const std::regex device(R"(^Bus (\d+) Device (\d+): ID .*)");
  const std::regex heading(R"(^\s*(.*(?:Descriptor|Device Capability|Association)):$)");
  const std::regex field(R"(^\s+(\w+)(?:\( *\d+\))?\s+(\S+)\s*(.*)$)");
  std::vector<LsusbBlock> blocks;
  LsusbBlock place;
  for (const std::string_view view : base::Split(text, '\n')) {
    const std::string line(view);
    std::smatch part;
    if (std::regex_match(line, part, device)) {
      place.bus = std::stoi(part[1]);
      place.number = std::stoi(part[2]);
    } else if (std::regex_match(line, part, heading)) {
      blocks.push_back(place);
      blocks.back().heading = part[1];
    } else if (!blocks.empty()) {
      blocks.back().text += line + "\n";
      if (std::regex_match(line, part, field)) {
        blocks.back().fields.emplace_back(part[1], part[2]);
        const std::string more = part[3];
        if (part[1] == "bDescriptorSubtype" && more.size() > 2) {
          blocks.back().subtype = more.substr(1, more.size() - 2);
        } else if (part[1] == "bInterfaceNumber") {
          place.interface = std::stoi(part[2]);
        }
      }
    }
  }
  return blocks;
}

std::vector<std::string> VideoLines(const std::vector<LsusbBlock>& blocks, int bus, int number) {
  std::vector<std::string> lines;
  for (const LsusbBlock& block : blocks) {
    if (block.bus != bus || block.number != number) {
      continue;
    }
    if (block.heading == "VideoControl Interface Descriptor") {
      AddControlLine(block, lines);
    } else if (block.heading == "VideoStreaming Interface Descriptor") {
      AddStreamLine(block, lines);
    }
  }
  return lines;
}

std::vector<std::uint8_t> BosBytes(const std::vector<LsusbBlock>& blocks, int bus, int number) {
  std::vector<std::uint8_t> bytes;
  for (const LsusbBlock& block : blocks) {
    if (block.bus != bus || block.number != number) {
      continue;
    }
    if (block.heading == "Binary Object Store Descriptor") {
      Append(bytes, block.Number("bLength"), 1);
      Append(bytes, block.Number("bDescriptorType"), 1);
      Append(bytes, block.Number("wTotalLength"), 2);
      Append(bytes, block.Number("bNumDeviceCaps"), 1);
    } else if (block.heading.ends_with("Device Capability")) {
      Append(bytes, block.Number("bLength"), 1);
      Append(bytes, block.Number("bDescriptorType"), 1);
      Append(bytes, block.Number("bDevCapabilityType"), 1);
      const bool super_speed = block.heading.starts_with("SuperSpeed USB");
      Append(bytes, block.Number("bmAttributes"), super_speed ? 1 : 4);
      if (super_speed) {
        Append(bytes, block.Number("wSpeedsSupported"), 2);
        Append(bytes, block.Number("bFunctionalitySupport"), 1);
        Append(bytes, block.Number("bU1DevExitLat"), 1);
        Append(bytes, block.Number("bU2DevExitLat"), 2);
      }
    }
  }
  return bytes;
}

}  // namespace tests
