// SPDX-License-Identifier: Apache-2.0

#include "probes/board/board.h"

#include <algorithm>
#include <cctype>
#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <utility>

#include "base/text.h"
#include "probes/board/smbios_memory.h"

namespace probes {
namespace {

using base::MachineRoot;
using base::Reading;

const std::string kIdFolder = "/sys/class/dmi/id/";
const std::string kTable = "/sys/firmware/dmi/tables/DMI";
constexpr std::size_t kMostModules = 1024;

Reading<std::string> ReadId(const MachineRoot& root, const char* file) {
  const auto text = root.ReadTrimmed(kIdFolder + file);
  if (!text) {
    return Reading<std::string>(text);
  }
  return SaysNothing(*text) ? Reading<std::string>::Unknown("the firmware does not tell it")
                            : Reading<std::string>(base::Printable(*text, 80));
}

Reading<int> PositiveInt(std::string_view text, const char* why) {
  const auto number = base::ParseInt(text);
  return number && *number > 0 && *number <= INT32_MAX ? Reading<int>(static_cast<int>(*number))
                                                       : Reading<int>::Unknown(why);
}

/// What udev wrote of one module, by the last part of the key.
void TakeUdevValue(std::string_view key, std::string_view value, MemoryModule& module) {
  constexpr const char* kWhy = "the firmware does not tell it";
  const auto text = [&]() {
    return SaysNothing(value) ? Reading<std::string>::Unknown(kWhy)
                              : Reading<std::string>(base::Printable(value, 60));
  };
  if (key == "SIZE") {
    const auto bytes = base::ParseInt(value);
    module.size_bytes =
        bytes && *bytes > 0 ? Reading<std::int64_t>(*bytes) : Reading<std::int64_t>::Unknown(kWhy);
  } else if (key == "PRESENT" && value == "0") {
    module.size_bytes = std::int64_t{0};
  } else if (key == "LOCATOR") {
    module.slot = base::Printable(value, 60);
  } else if (key == "BANK_LOCATOR") {
    module.bank = SaysNothing(value) ? "" : base::Printable(value, 60);
  } else if (key == "TYPE") {
    // "RAM", "Other" and "<OUT OF SPEC>" are no kinds that one can buy.
    module.type = value.find("DDR") != std::string_view::npos || value.starts_with("HBM")
                      ? text()
                      : Reading<std::string>::Unknown(kWhy);
  } else if (key == "SPEED_MTS") {
    module.best_speed_mts = PositiveInt(value, kWhy);
  } else if (key == "CONFIGURED_SPEED_MTS") {
    module.speed_mts = PositiveInt(value, kWhy);
  } else if (key == "MANUFACTURER") {
    module.maker = text();
  } else if (key == "PART_NUMBER") {
    module.part = text();
  }
}

MemoryModule NothingTold() {
  static const std::string why = "the firmware does not tell it";
  MemoryModule module;
  module.size_bytes = Reading<std::int64_t>::Unknown(why);
  module.type = module.maker = module.part = Reading<std::string>::Unknown(why);
  module.speed_mts = module.best_speed_mts = Reading<int>::Unknown(why);
  return module;
}

/// https://docs.kernel.org/admin-guide/RAS/main.html: one folder for each module that counts.
std::vector<MemoryModule> ReadEdac(const MachineRoot& root) {
  static const std::string folder = "/sys/devices/system/edac/mc";
  std::vector<MemoryModule> modules;
  for (const std::string& controller : root.List(folder).value_or({})) {
    for (const std::string& name : root.List(folder + "/" + controller).value_or({})) {
      const std::string dimm = folder + "/" + controller + "/" + name;
      const auto mib = name.starts_with("dimm") ? root.ReadInt(dimm + "/size")
                                                : base::Result<std::int64_t>(base::Error{});
      if (!mib || *mib < 0 || *mib > INT64_MAX >> 20 || modules.size() >= kMostModules) {
        continue;
      }
      MemoryModule module = NothingTold();
      module.size_bytes = *mib << 20;
      module.slot = base::Printable(root.ReadTrimmed(dimm + "/dimm_label").value_or(name), 60);
      module.bank = base::Printable(root.ReadTrimmed(dimm + "/dimm_location").value_or(""), 60);
      const auto type = root.ReadTrimmed(dimm + "/dimm_mem_type");
      module.type =
          type ? Reading<std::string>(base::Printable(*type, 40)) : Reading<std::string>(type);
      modules.push_back(std::move(module));
    }
  }
  return modules;
}

void FillMemory(const MachineRoot& root, BoardInventory& board) {
  using Modules = std::vector<MemoryModule>;
  const auto table = root.Read(kTable);
  Modules modules = table ? ParseSmbiosMemory(*table) : Modules();
  if (modules.empty()) {
    modules = ParseUdevMemory(root.Read("/run/udev/data/+dmi:id").value_or(""));
  }
  if (modules.empty()) {
    modules = ReadEdac(root);
  }
  if (!modules.empty()) {
    board.memory = std::move(modules);
  } else if (table) {
    board.memory = Reading<Modules>::Unknown("the firmware's table lists no memory");
  } else if (table.error().kind == base::ErrorKind::kDenied) {
    board.memory = Reading<Modules>::Unknown(kTable + ": only root may read it");
  } else {
    board.memory = Reading<Modules>::Unknown(kTable + ": " + table.error().detail);
  }
}

void FillChannels(BoardInventory& board) {
  if (!board.memory) {
    board.memory_channels = Reading<int>::Unknown(board.memory.why_unknown());
    return;
  }
  std::set<std::string> channels;
  for (const MemoryModule& module : *board.memory) {
    if (module.size_bytes && *module.size_bytes == 0) {
      continue;
    }
    const std::string channel = ChannelOf(module);
    if (channel.empty()) {
      board.memory_channels =
          Reading<int>::Unknown("the names of the sockets do not tell their channels");
      return;
    }
    channels.insert(channel);
  }
  board.memory_channels = static_cast<int>(channels.size());
  board.channels_by = "by the names of the sockets";
}

std::string Upper(std::string_view text) {
  std::string upper(text);
  for (char& c : upper) {
    c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  }
  return upper;
}

bool IsJoint(char c) {
  return c == ' ' || c == '_' || c == '-' || c == ':' || c == '#';
}

/// "P0 CHANNEL A": all up to the letter or number of the channel.
std::string ByTheWordChannel(const std::string& text) {
  constexpr std::string_view kWord = "CHANNEL";
  const std::size_t word = text.find(kWord);
  if (word == std::string::npos) {
    return {};
  }
  std::size_t at = word + kWord.size();
  while (at < text.size() && IsJoint(text[at])) {
    ++at;
  }
  std::size_t end = at;
  while (end < text.size() && std::isalnum(static_cast<unsigned char>(text[end])) != 0) {
    ++end;
  }
  return at == end ? std::string() : text.substr(0, word) + text.substr(at, end - at);
}

/// "DIMM_A1", "DIMMA1", "DIMM A1": a letter for the channel, a number for the place on it.
std::string ByTheLetter(const std::string& text) {
  constexpr std::string_view kWord = "DIMM";
  const std::size_t word = text.find(kWord);
  std::size_t at = word == std::string::npos ? text.size() : word + kWord.size();
  while (at < text.size() && IsJoint(text[at])) {
    ++at;
  }
  const bool letter = at + 1 < text.size() && text[at] >= 'A' && text[at] <= 'Z';
  return letter && std::isdigit(static_cast<unsigned char>(text[at + 1])) != 0
             ? text.substr(0, word) + text[at]
             : std::string();
}

}  // namespace

std::string ChannelOf(const MemoryModule& module) {
  const std::string bank = Upper(module.bank);
  const std::string slot = Upper(module.slot);
  for (const std::string& text : {bank, slot}) {
    if (std::string channel = ByTheWordChannel(text); !channel.empty()) {
      return channel;
    }
  }
  return ByTheLetter(slot);
}

std::vector<MemoryModule> ParseUdevMemory(std::string_view record) {
  constexpr std::string_view kKey = "E:MEMORY_DEVICE_";
  std::map<std::int64_t, MemoryModule> modules;
  for (const std::string_view line : base::Split(record, '\n')) {
    const std::size_t equals = line.find('=');
    if (!line.starts_with(kKey) || equals == std::string_view::npos) {
      continue;
    }
    const std::string_view key = line.substr(kKey.size(), equals - kKey.size());
    const std::size_t joint = key.find('_');
    const auto number =
        joint == std::string_view::npos ? std::nullopt : base::ParseInt(key.substr(0, joint));
    if (!number || *number < 0 || *number >= static_cast<std::int64_t>(kMostModules)) {
      continue;
    }
    MemoryModule& module = modules.try_emplace(*number, NothingTold()).first->second;
    TakeUdevValue(key.substr(joint + 1), line.substr(equals + 1), module);
  }
  std::vector<MemoryModule> found;
  for (auto& [number, module] : modules) {
    found.push_back(std::move(module));
  }
  return found;
}

BoardInventory ReadBoard(const MachineRoot& root) {
  BoardInventory board;
  board.maker = ReadId(root, "sys_vendor");
  board.model = ReadId(root, "product_name");
  board.board_maker = ReadId(root, "board_vendor");
  board.board_model = ReadId(root, "board_name");
  board.firmware_maker = ReadId(root, "bios_vendor");
  board.firmware_version = ReadId(root, "bios_version");
  board.firmware_date = ReadId(root, "bios_date");
  FillMemory(root, board);
  FillChannels(board);
  return board;
}

}  // namespace probes
