// SPDX-License-Identifier: Apache-2.0

#include "probes/storage/disk_health.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>

#include <fmt/format.h>

#include "base/text.h"

namespace probes {
namespace {

using base::Reading;

constexpr double kMostDegrees = 1000;  // no disk is as hot, nor as cold

std::uint64_t Little(std::string_view bytes, std::size_t at, std::size_t count) {
  std::uint64_t value = 0;
  for (std::size_t i = count; i-- > 0;) {
    value = value << 8 | static_cast<std::uint8_t>(bytes[at + i]);
  }
  return value;
}

/// Counters of NVMe are 128 bits wide; what passes 63 bits is a disk that lies.
Reading<std::int64_t> Counter(std::string_view log, std::size_t at) {
  const std::uint64_t low = Little(log, at, 8);
  if (Little(log, at + 8, 8) != 0 || low > static_cast<std::uint64_t>(INT64_MAX)) {
    return Reading<std::int64_t>::Unknown("the disk tells a number that cannot be");
  }
  return static_cast<std::int64_t>(low);
}

/// One entry of a page of device statistics: seven bytes of value, and a byte of flags.
std::optional<std::uint64_t> Statistic(std::string_view page, std::size_t at) {
  constexpr std::uint64_t kSupported = 0x80;
  constexpr std::uint64_t kValid = 0x40;
  if (page.size() < at + 8) {
    return std::nullopt;
  }
  const std::uint64_t flags = Little(page, at + 7, 1);
  return (flags & kSupported) != 0 && (flags & kValid) != 0 ? std::optional(Little(page, at, 7))
                                                            : std::nullopt;
}

void TakeAtaPage(std::string_view page, DiskHealth& health) {
  constexpr std::uint64_t kLow32 = 0xffffffff;
  constexpr std::uint64_t kLow48 = 0xffffffffffff;
  constexpr std::uint64_t kSectorBytes = 512;
  if (page.size() < 8) {
    return;
  }
  switch (Little(page, 2, 1)) {
    case 0x01:
      if (const auto hours = Statistic(page, 16)) {
        health.powered_hours = static_cast<std::int64_t>(*hours & kLow32);
      }
      if (const auto sectors = Statistic(page, 24)) {
        const std::uint64_t count = *sectors & kLow48;
        health.written_bytes = static_cast<std::int64_t>(
            std::min<std::uint64_t>(count, INT64_MAX / kSectorBytes) * kSectorBytes);
      }
      return;
    case 0x04:
      if (const auto errors = Statistic(page, 8)) {
        health.media_errors = static_cast<std::int64_t>(*errors & kLow32);
      }
      return;
    case 0x05:
      if (const auto degrees = Statistic(page, 8)) {
        health.temperature_c = static_cast<double>(static_cast<std::int8_t>(*degrees & 0xff));
      }
      return;
    case 0x07:
      if (const auto used = Statistic(page, 8)) {
        health.wear_percent = static_cast<int>(*used & 0xff);
      }
      return;
    default:
      return;
  }
}

void SetFromWord(std::string_view key, std::string_view value, DiskHealth& health) {
  if (key == "temperature_c") {
    if (const auto degrees = base::ParseDouble(value);
        degrees && std::abs(*degrees) <= kMostDegrees) {
      health.temperature_c = *degrees;
    }
    return;
  }
  const auto number = base::ParseInt(value);
  if (!number || *number < 0) {
    return;
  }
  const bool small = *number <= std::numeric_limits<int>::max();
  if (key == "sound") {
    health.sound = *number != 0;
  } else if (key == "wear_percent" && small) {
    health.wear_percent = static_cast<int>(*number);
  } else if (key == "spare_percent" && small) {
    health.spare_percent = static_cast<int>(*number);
  } else if (key == "powered_hours") {
    health.powered_hours = *number;
  } else if (key == "written_bytes") {
    health.written_bytes = *number;
  } else if (key == "media_errors") {
    health.media_errors = *number;
  }
}

}  // namespace

DiskHealth UnknownHealth(const std::string& why) {
  DiskHealth health;
  health.sound = Reading<bool>::Unknown(why);
  health.temperature_c = Reading<double>::Unknown(why);
  health.wear_percent = health.spare_percent = Reading<int>::Unknown(why);
  health.powered_hours = health.written_bytes = health.media_errors =
      Reading<std::int64_t>::Unknown(why);
  return health;
}

DiskHealth ParseNvmeHealth(std::string_view log) {
  constexpr std::size_t kLogBytes = 512;
  constexpr std::uint64_t kTooHot = 0x02;  // a warning that passes; the others do not
  constexpr double kKelvin = 273.15;
  constexpr std::int64_t kUnitBytes = 512'000;
  if (log.size() < kLogBytes) {
    return UnknownHealth("the disk's health log is too short");
  }
  DiskHealth health;
  health.sound = (Little(log, 0, 1) & ~kTooHot) == 0;
  const auto kelvin = static_cast<double>(Little(log, 1, 2));
  health.temperature_c = kelvin == 0 ? Reading<double>::Unknown("the disk tells no temperature")
                         : kelvin > kMostDegrees
                             ? Reading<double>::Unknown("the disk tells a number that cannot be")
                             : Reading<double>(kelvin - kKelvin);
  health.spare_percent = static_cast<int>(Little(log, 3, 1));
  health.wear_percent = static_cast<int>(Little(log, 5, 1));
  const Reading<std::int64_t> units = Counter(log, 48);
  health.written_bytes =
      units ? Reading<std::int64_t>(std::min(*units, INT64_MAX / kUnitBytes) * kUnitBytes) : units;
  health.powered_hours = Counter(log, 128);
  health.media_errors = Counter(log, 160);
  return health;
}

DiskHealth ParseAtaStatistics(const std::vector<std::string>& pages) {
  DiskHealth health = UnknownHealth("the disk does not count it");
  for (const std::string& page : pages) {
    TakeAtaPage(page, health);
  }
  return health;
}

Reading<bool> ParseAtaSound(std::string_view sense) {
  constexpr std::size_t kRegisters = 8;
  constexpr std::uint64_t kDescriptorFormat = 0x72;
  constexpr std::uint64_t kAtaStatusReturn = 0x09;
  const auto unknown = Reading<bool>::Unknown("the disk does not tell whether it is sound");
  // Descriptor format, with the ATA status return descriptor first.
  if (sense.size() < kRegisters + 14 || (Little(sense, 0, 1) & 0x7f) != kDescriptorFormat ||
      Little(sense, kRegisters, 1) != kAtaStatusReturn) {
    return unknown;
  }
  const std::uint64_t mid = Little(sense, kRegisters + 9, 1);
  const std::uint64_t high = Little(sense, kRegisters + 11, 1);
  if (mid == 0x4f && high == 0xc2) {
    return true;
  }
  return mid == 0xf4 && high == 0x2c ? Reading<bool>(false) : unknown;
}

std::optional<int> ParseMmcLife(std::string_view text) {
  constexpr std::int64_t kPastItsLife = 0x0b;
  std::optional<int> worse;
  for (const std::string_view word : base::SplitWords(text)) {
    const auto tenths = base::ParseInt(word, 16);
    if (tenths && *tenths > 0 && *tenths <= kPastItsLife) {
      worse = std::max(worse.value_or(0), static_cast<int>(*tenths) * 10);
    }
  }
  return worse;
}

std::string CapturedHealthLine(const std::string& disk, const DiskHealth& health) {
  std::string line = disk;
  const auto add = [&line](const char* key, const auto& reading) {
    if (reading) {
      line += fmt::format(" {}={}", key, *reading);
    }
  };
  if (health.sound) {
    line += *health.sound ? " sound=1" : " sound=0";
  }
  add("temperature_c", health.temperature_c);
  add("wear_percent", health.wear_percent);
  add("spare_percent", health.spare_percent);
  add("powered_hours", health.powered_hours);
  add("written_bytes", health.written_bytes);
  add("media_errors", health.media_errors);
  return line + "\n";
}

DiskHealth FindCapturedHealth(std::string_view lines, const std::string& disk) {
  DiskHealth health = UnknownHealth("it was not told when the machine was captured");
  for (const std::string_view line : base::Split(lines, '\n')) {
    const auto words = base::SplitWords(line);
    if (words.empty() || words[0] != disk) {
      continue;
    }
    for (std::size_t i = 1; i < words.size(); ++i) {
      const std::size_t equals = words[i].find('=');
      if (equals != std::string_view::npos) {
        SetFromWord(words[i].substr(0, equals), words[i].substr(equals + 1), health);
      }
    }
  }
  return health;
}

}  // namespace probes
