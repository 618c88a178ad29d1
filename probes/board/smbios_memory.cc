// SPDX-License-Identifier: Apache-2.0

#include "probes/board/smbios_memory.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <utility>

#include "base/text.h"

namespace probes {
namespace {

using base::Reading;

constexpr std::size_t kHeadBytes = 4;  // type, length, handle
constexpr std::size_t kMostModules = 1024;
constexpr int kMemoryDevice = 17;
constexpr int kEndOfTable = 127;

// Offsets in structure type 17 (DSP0134, 7.18), and how long it is where they are in it.
constexpr std::size_t kSize = 0x0c;
constexpr std::size_t kSlot = 0x10;
constexpr std::size_t kBank = 0x11;
constexpr std::size_t kType = 0x12;
constexpr std::size_t kSpeed = 0x15;
constexpr std::size_t kMaker = 0x17;
constexpr std::size_t kSerial = 0x18;
constexpr std::size_t kAssetTag = 0x19;
constexpr std::size_t kPart = 0x1a;
constexpr std::size_t kExtendedSize = 0x1c;
constexpr std::size_t kConfiguredSpeed = 0x20;
constexpr std::size_t kFirmwareVersion = 0x2b;
constexpr std::size_t kExtendedSpeed = 0x54;
constexpr std::size_t kExtendedConfiguredSpeed = 0x58;

struct TypeName {
  int code;
  std::string_view name;
};

// DSP0134 3.7, table 79: those that a PC can have today.
constexpr auto kTypes = std::to_array<TypeName>({
    {0x0f, "SDRAM"},
    {0x12, "DDR"},
    {0x13, "DDR2"},
    {0x18, "DDR3"},
    {0x1a, "DDR4"},
    {0x1b, "LPDDR"},
    {0x1c, "LPDDR2"},
    {0x1d, "LPDDR3"},
    {0x1e, "LPDDR4"},
    {0x20, "HBM"},
    {0x21, "HBM2"},
    {0x22, "DDR5"},
    {0x23, "LPDDR5"},
    {0x24, "HBM3"},
});

/// One structure: its formatted area, and the strings behind it.
struct Structure {
  std::string_view area;
  std::vector<std::string_view> strings;

  int type() const { return Byte(0); }
  int Byte(std::size_t at) const {
    return at < area.size() ? static_cast<std::uint8_t>(area[at]) : 0;
  }
  int Word(std::size_t at) const { return Byte(at) | Byte(at + 1) << 8; }
  std::int64_t Long(std::size_t at) const {
    return Word(at) | static_cast<std::int64_t>(Word(at + 2)) << 16;
  }
  /// Strings are counted from 1; 0 is none.
  std::string_view Text(std::size_t at) const {
    const auto number = static_cast<std::size_t>(Byte(at));
    return number >= 1 && number <= strings.size() ? base::Trim(strings[number - 1])
                                                   : std::string_view();
  }
};

/// Takes the structure at the start of `table` off it; nothing where it does not fit.
bool TakeStructure(std::string_view& table, Structure& into) {
  if (table.size() < kHeadBytes) {
    return false;
  }
  const auto length = static_cast<std::size_t>(static_cast<std::uint8_t>(table[1]));
  if (length < kHeadBytes || length > table.size()) {
    return false;
  }
  into = {table.substr(0, length), {}};
  std::string_view rest = table.substr(length);
  // Strings end with a zero each, the set with one more; without any there are two zeros.
  const std::size_t end = rest.find(std::string_view("\0\0", 2));
  if (end == std::string_view::npos) {
    return false;
  }
  for (std::string_view set = rest.substr(0, end); !set.empty();) {
    const std::size_t zero = std::min(set.find('\0'), set.size());
    into.strings.push_back(set.substr(0, zero));
    set.remove_prefix(std::min(zero + 1, set.size()));
  }
  table = rest.substr(end + 2);
  return true;
}

/// Calls `seen` for every memory device of the table.
void EachMemoryDevice(std::string_view table, const std::function<void(const Structure&)>& seen) {
  Structure structure;
  std::size_t modules = 0;
  while (modules < kMostModules && TakeStructure(table, structure) &&
         structure.type() != kEndOfTable) {
    if (structure.type() == kMemoryDevice && structure.area.size() > kType) {
      ++modules;
      seen(structure);
    }
  }
}

Reading<std::int64_t> SizeOf(const Structure& device) {
  constexpr int kNotKnown = 0xffff;
  constexpr int kLarger = 0x7fff;
  constexpr int kInKib = 0x8000;
  const int size = device.Word(kSize);
  if (size == kNotKnown) {
    return Reading<std::int64_t>::Unknown("the firmware does not know it");
  }
  if (size == kLarger) {
    if (device.area.size() < kExtendedSize + 4) {
      return Reading<std::int64_t>::Unknown("the firmware's table does not hold it");
    }
    return (device.Long(kExtendedSize) & 0x7fffffff) << 20;
  }
  return (size & kInKib) != 0 ? static_cast<std::int64_t>(size & kLarger) << 10
                              : static_cast<std::int64_t>(size) << 20;
}

Reading<int> SpeedOf(const Structure& device, std::size_t at, std::size_t extended) {
  constexpr int kLarger = 0xffff;
  std::int64_t speed = device.area.size() >= at + 2 ? device.Word(at) : 0;
  if (speed == kLarger) {
    speed = device.area.size() >= extended + 4 ? device.Long(extended) & 0x7fffffff : 0;
  }
  return speed > 0 ? Reading<int>(static_cast<int>(speed))
                   : Reading<int>::Unknown("the firmware does not tell it");
}

Reading<std::string> TextOf(const Structure& device, std::size_t at) {
  const std::string_view text = device.Text(at);
  return SaysNothing(text) ? Reading<std::string>::Unknown("the firmware does not tell it")
                           : Reading<std::string>(base::Printable(text, 60));
}

Reading<std::string> TypeOf(const Structure& device) {
  const auto* const found = std::ranges::find(kTypes, device.Byte(kType), &TypeName::code);
  return found == kTypes.end() ? Reading<std::string>::Unknown("the firmware does not tell it")
                               : Reading<std::string>(std::string(found->name));
}

}  // namespace

bool SaysNothing(std::string_view text) {
  // As firmware fills in what nobody filled in (common practice).
  static constexpr auto kFillers = std::to_array<std::string_view>(
      {"", "not specified", "unknown", "none", "n/a", "default string", "no dimm",
       "to be filled by o.e.m.", "system product name", "system manufacturer", "empty"});
  std::string lower(base::Trim(text));
  for (char& c : lower) {
    c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  }
  return std::ranges::find(kFillers, lower) != kFillers.end();
}

std::vector<MemoryModule> ParseSmbiosMemory(std::string_view table) {
  std::vector<MemoryModule> modules;
  EachMemoryDevice(table, [&modules](const Structure& device) {
    MemoryModule module;
    module.slot = base::Printable(device.Text(kSlot), 60);
    module.bank = SaysNothing(device.Text(kBank)) ? "" : base::Printable(device.Text(kBank), 60);
    module.size_bytes = SizeOf(device);
    module.type = TypeOf(device);
    module.best_speed_mts = SpeedOf(device, kSpeed, kExtendedSpeed);
    module.speed_mts = SpeedOf(device, kConfiguredSpeed, kExtendedConfiguredSpeed);
    module.maker = TextOf(device, kMaker);
    module.part = TextOf(device, kPart);
    modules.push_back(std::move(module));
  });
  return modules;
}

std::string MemoryTableWithoutSerials(std::string_view table) {
  std::string clean;
  EachMemoryDevice(table, [&clean](const Structure& device) {
    std::string area(device.area);
    std::string strings;
    int number = 0;
    for (const std::size_t at : {kSlot, kBank, kMaker, kPart}) {
      const std::string_view text = device.Text(at);
      if (at < area.size()) {
        area[at] = static_cast<char>(text.empty() ? 0 : ++number);
      }
      if (at < area.size() && !text.empty()) {
        strings += std::string(text) + '\0';
      }
    }
    for (const std::size_t at : {kSerial, kAssetTag, kFirmwareVersion}) {
      if (at < area.size()) {
        area[at] = 0;
      }
    }
    clean += area + (strings.empty() ? std::string(2, '\0') : strings + '\0');
  });
  static constexpr std::string_view kEnd{"\x7f\x04\xff\xfe\x00\x00", 6};
  return clean + std::string(kEnd);
}

}  // namespace probes
