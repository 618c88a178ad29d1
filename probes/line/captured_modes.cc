// SPDX-License-Identifier: Apache-2.0

#include "probes/line/captured_modes.h"

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <utility>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "base/text.h"

namespace probes {
namespace {

using Modes = base::Reading<std::vector<CaptureMode>>;

// A driver's lists end before (probes/line/v4l2_modes_linux.cc); a UVC device's rasters have 16
// bits, its intervals 32 (USB Device Class Definition for Video Devices 1.5, table 3-2 of its
// payloads).
constexpr std::size_t kMostModes = 8192;
constexpr std::size_t kMostIntervals = 1024;
constexpr std::int64_t kMostPixels = 0xffff;
constexpr std::int64_t kLongestInterval = 0xffffffff;
constexpr std::size_t kLongestWord = 200;
constexpr std::string_view kUnknown = "unknown";

/// The first word of `line`, taken off it with the space behind.
std::string_view TakeWord(std::string_view& line) {
  const std::string_view word = line.substr(0, line.find(' '));
  line.remove_prefix(std::min(word.size() + 1, line.size()));
  return word;
}

std::optional<std::int64_t> Number(std::string_view word, std::int64_t least, std::int64_t most) {
  const auto number = base::ParseInt(word);
  return number && *number >= least && *number <= most ? number : std::nullopt;
}

std::vector<std::int64_t> Intervals(std::string_view word) {
  std::vector<std::int64_t> intervals;
  for (const std::string_view part : base::Split(word, ',')) {
    const auto interval = Number(part, 1, kLongestInterval);
    if (!interval || intervals.size() == kMostIntervals) {
      return {};
    }
    intervals.push_back(*interval);
  }
  return intervals;
}

std::optional<CaptureMode> ParseMode(std::string_view line) {
  const auto width = Number(TakeWord(line), 1, kMostPixels);
  const auto height = Number(TakeWord(line), 1, kMostPixels);
  const auto step = Number(TakeWord(line), 0, kLongestInterval);
  CaptureMode mode;
  mode.intervals_100ns = Intervals(TakeWord(line));
  mode.pixel_format = base::Printable(line, kLongestWord);
  if (!width || !height || !step || mode.intervals_100ns.empty() || mode.pixel_format.empty()) {
    return std::nullopt;
  }
  mode.width = static_cast<int>(*width);
  mode.height = static_cast<int>(*height);
  mode.interval_step_100ns = *step;
  return mode;
}

std::string ModeLine(const std::string& path, const CaptureMode& mode) {
  return fmt::format("{} {} {} {} {} {}\n", path, mode.width, mode.height, mode.interval_step_100ns,
                     fmt::join(mode.intervals_100ns, ","), base::Printable(mode.pixel_format));
}

}  // namespace

std::string CapturedModesText(const UsbInventory& usb) {
  std::string text;
  for (const UsbDevice& device : usb.devices) {
    if (device.role != UsbRole::kCapture || device.video_nodes.empty()) {
      continue;
    }
    if (!device.driver_modes) {
      text += fmt::format("{} {} {}\n", device.path, kUnknown,
                          base::Printable(device.driver_modes.why_unknown()));
      continue;
    }
    for (const CaptureMode& mode : *device.driver_modes) {
      text += ModeLine(device.path, mode);
    }
  }
  return text;
}

Modes FindCapturedModes(std::string_view text, std::string_view path) {
  std::vector<CaptureMode> modes;
  Modes unknown = Modes::Unknown("not told when the machine was captured");
  for (std::string_view line : base::Split(text, '\n')) {
    if (TakeWord(line) != path || modes.size() == kMostModes) {
      continue;
    }
    if (std::string_view rest = line; TakeWord(rest) == kUnknown && !rest.empty()) {
      unknown = Modes::Unknown(base::Printable(rest));
    } else if (auto mode = ParseMode(line)) {
      modes.push_back(std::move(*mode));
    }
  }
  return modes.empty() ? unknown : Modes(std::move(modes));
}

void AddCapturedModes(std::string_view text, UsbInventory& usb) {
  for (UsbDevice& device : usb.devices) {
    if (device.role == UsbRole::kCapture && !device.video_nodes.empty()) {
      device.driver_modes = FindCapturedModes(text, device.path);
    }
  }
}

}  // namespace probes
