// SPDX-License-Identifier: Apache-2.0
//
// The PC as a whole, displays, disks and sound devices.

#include "report/show/rows/machine.h"

#include <algorithm>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "report/show/rows/unknowns.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::When;
using Text = base::Reading<std::string>;

std::string Bytes(std::int64_t bytes) {
  return base::FormatBytes(static_cast<double>(bytes));
}

/// Memory is sold in powers of two.
std::string GibText(std::int64_t bytes) {
  constexpr double kGib = 1024.0 * 1024 * 1024;
  return FormatNumber(static_cast<double>(bytes) / kGib) + " GiB";
}

/// "Maker Model", as far as it is told; unknown where neither is.
Text MakerAndModel(const Text& maker, const Text& model) {
  if (!maker && !model) {
    return Text::Unknown(model.why_unknown());
  }
  if (!maker || !model) {
    return maker ? maker : model;
  }
  return model->starts_with(*maker) ? *model : *maker + " " + *model;
}

/// "DDR4 at 2666 MT/s, made for 3200": the figures that are told.
std::string KindText(const probes::MemoryModule& module) {
  std::string text = module.type.value_or("of a kind not told");
  if (module.speed_mts) {
    text += fmt::format(" at {} MT/s", *module.speed_mts);
  }
  if (module.best_speed_mts && module.best_speed_mts != module.speed_mts) {
    text +=
        fmt::format("{}made for {} MT/s", module.speed_mts ? ", " : " ", *module.best_speed_mts);
  }
  return text;
}

bool Empty(const probes::MemoryModule& module) {
  return module.size_bytes && *module.size_bytes == 0;
}

/// "2 x 16 GiB DDR4 at 3200 MT/s; 2 of 4 sockets empty".
std::string ModulesText(const std::vector<probes::MemoryModule>& modules) {
  std::map<std::string, int> kinds;
  int empty = 0;
  for (const probes::MemoryModule& module : modules) {
    if (Empty(module)) {
      ++empty;
      continue;
    }
    ++kinds[(module.size_bytes ? GibText(*module.size_bytes) : "size unknown") + " " +
            KindText(module)];
  }
  std::string text;
  for (const auto& [kind, count] : kinds) {
    text += fmt::format("{}{} x {}", text.empty() ? "" : "; ", count, kind);
  }
  return empty == 0 ? text
                    : fmt::format("{}{}{} of {} sockets empty", text, text.empty() ? "" : "; ",
                                  empty, modules.size());
}

void AddModule(const probes::MemoryModule& module, std::size_t number, show::Facts& facts) {
  std::string text = Empty(module)       ? "empty"
                     : module.size_bytes ? GibText(*module.size_bytes) + " " + KindText(module)
                                         : "size unknown: " + module.size_bytes.why_unknown();
  if (!Empty(module)) {
    text += module.maker ? ", " + *module.maker : "";
    text += module.part ? ", " + *module.part : "";
  }
  text += module.bank.empty() ? "" : " (" + module.bank + ")";
  facts.Add(module.slot.empty() ? fmt::format("socket {}", number) : module.slot, text,
            When::kDetails);
  Unknowns unknowns;
  unknowns.Add("kind", module.type);
  unknowns.Add("speed", module.speed_mts);
  unknowns.Add("best speed", module.best_speed_mts);
  unknowns.Add("maker", module.maker);
  unknowns.Add("part", module.part);
  if (!Empty(module)) {
    facts.AddMore(unknowns.Text());
  }
}

/// "wear 3 %"; what is not told is left to the line that says why.
std::string HealthText(const probes::DiskHealth& health) {
  std::string text = health.sound
                         ? (*health.sound ? "sound by its own word" : "warns of its own failure")
                         : "its own word unknown: " + health.sound.why_unknown();
  const auto add = [&text](const char* name, const auto& reading, auto format) {
    text += fmt::format(", {} {}", name, reading ? format(*reading) : std::string("unknown"));
  };
  add("wear", health.wear_percent, [](int percent) { return fmt::format("{} %", percent); });
  add("temperature", health.temperature_c,
      [](double degrees) { return fmt::format("{:.0f} C", degrees); });
  return text;
}

/// What a disk counts of itself; empty where it tells nothing.
std::string CountsText(const probes::DiskHealth& health) {
  std::string text;
  const auto add = [&text](const char* name, const auto& reading, auto format) {
    if (reading) {
      text += fmt::format("{}{} {}", text.empty() ? "" : ", ", name, format(*reading));
    }
  };
  const auto count = [](std::int64_t value) { return FormatCount(value); };
  const auto percent = [](int value) { return fmt::format("{} %", value); };
  add("cells in reserve", health.spare_percent, percent);
  add("powered for", health.powered_hours, [&](std::int64_t hours) { return count(hours) + " h"; });
  add("written", health.written_bytes, Bytes);
  add("reads that failed for good", health.media_errors, count);
  return text;
}

std::string UnknownsText(const probes::Disk& disk) {
  const probes::DiskHealth& health = disk.health;
  Unknowns unknowns;
  unknowns.Add("connection", disk.device.transport);
  unknowns.Add("whether it spins", disk.device.rotational);
  unknowns.Add("size", disk.device.size_bytes);
  unknowns.Add("whether it is removable", disk.removable);
  unknowns.Add("wear", health.wear_percent);
  unknowns.Add("temperature", health.temperature_c);
  unknowns.Add("cells in reserve", health.spare_percent);
  unknowns.Add("hours", health.powered_hours);
  unknowns.Add("written", health.written_bytes);
  unknowns.Add("reads that failed for good", health.media_errors);
  return unknowns.Text();
}

std::string DiskText(const probes::Disk& disk) {
  const probes::BlockLayer& device = disk.device;
  std::string text = device.model.empty() ? "no model told" : device.model;
  text += device.transport ? ", " + *device.transport : "";
  text += device.rotational ? (*device.rotational ? ", spinning" : ", solid state") : "";
  text += device.size_bytes ? (*device.size_bytes == 0 ? std::string(", no medium in it")
                                                       : ", " + Bytes(*device.size_bytes))
                            : ", size unknown";
  text += disk.removable.value_or(false) ? ", removable" : "";
  return text + PlaceText(device.usb_path, device.pci_address);
}

std::string DisplayText(const probes::Display& display) {
  if (!display.connected) {
    return "unknown: " + display.connected.why_unknown();
  }
  if (!*display.connected) {
    return "nothing connected";
  }
  std::string text = display.name ? *display.name : std::string("a display");
  if (display.raster && display.refresh_hz) {
    return text + fmt::format(", best at {} and {:.2f} Hz", *display.raster, *display.refresh_hz);
  }
  return text + ", first mode " +
         (display.mode ? *display.mode : "unknown: " + display.mode.why_unknown()) +
         ", rate unknown: " + display.refresh_hz.why_unknown();
}

}  // namespace

std::string PlaceText(const std::string& usb_path, const std::string& pci_address) {
  return !usb_path.empty()      ? ", on USB " + usb_path
         : !pci_address.empty() ? ", at " + pci_address
                                : std::string();
}

show::Part BoardPart(const probes::BoardInventory& board) {
  show::Facts facts;
  facts.Add("model", MakerAndModel(board.maker, board.model));
  facts.Add("board", MakerAndModel(board.board_maker, board.board_model));
  Text firmware = MakerAndModel(board.firmware_maker, board.firmware_version);
  if (firmware) {
    firmware = *firmware + ", " +
               (board.firmware_date ? *board.firmware_date + " (month first)"
                                    : "date unknown: " + board.firmware_date.why_unknown());
  }
  facts.Add("firmware", firmware);
  facts.Add("memory modules", board.memory ? Text(ModulesText(*board.memory))
                                           : Text::Unknown(board.memory.why_unknown()));
  const auto& channels = board.memory_channels;
  facts.Add("memory channels",
            channels ? Text(fmt::format("{} in use ({})", *channels, board.channels_by))
                     : Text::Unknown(channels.why_unknown()));
  std::size_t number = 0;
  for (const probes::MemoryModule& module : board.memory.value_or({})) {
    AddModule(module, ++number, facts);
  }
  return PartOf("PC", std::move(facts));
}

show::Part DisplayPart(const probes::GpuInventory& gpu) {
  show::Facts facts;
  const auto& connected = gpu.connected_displays;
  facts.Add("displays", connected ? Text(Plural(*connected, "display") + " connected")
                                  : Text::Unknown(connected.why_unknown()));
  for (const probes::Display& display : gpu.displays) {
    facts.Add(display.connector, DisplayText(display));
  }
  if (connected.value_or(1) > 0) {
    facts.Add("modes in use", Text::Unknown("the kernel tells them to what draws on the displays"),
              When::kDetails);
  }
  return PartOf("Displays", std::move(facts));
}

show::Part OtherCardPart(const probes::PciInventory& pci) {
  show::Facts facts;
  for (const probes::PciDevice& function : pci.functions) {
    const auto nodes = function.video_nodes.value_or({});
    if (!probes::TellsNoPurpose(function.class_code) || !nodes.empty()) {
      continue;
    }
    const std::string driver = !function.driver           ? "driver unknown"
                               : function.driver->empty() ? "no driver"
                                                          : "driver " + *function.driver;
    facts.Add(function.address,
              fmt::format("{} (class {:04x}), {}, no video node{}", function.name,
                          function.class_code >> 8, driver, function.video_nodes ? "" : " known"));
    Unknowns unknowns;
    unknowns.Add("driver", function.driver);
    unknowns.Add("video nodes", function.video_nodes);
    facts.AddMore(unknowns.Text());
  }
  return PartOf("Cards that do not tell what they do", std::move(facts));
}

show::Part DiskPart(const probes::DiskInventory& disks) {
  show::Facts facts;
  if (!disks.present) {
    facts.Add("disks", Text::Unknown(disks.present.why_unknown()));
  } else if (disks.disks.empty()) {
    facts.Add("disks", "none");
  }
  for (const probes::Disk& disk : disks.disks) {
    facts.Add(disk.device.name, DiskText(disk));
    facts.Add("", HealthText(disk.health));
    facts.AddMore(CountsText(disk.health));
    facts.AddMore(UnknownsText(disk));
  }
  return PartOf("Disks", std::move(facts));
}

show::Part SoundPart(const probes::SoundInventory& sound) {
  show::Facts facts;
  if (!sound.present) {
    facts.Add("sound devices", Text::Unknown(sound.present.why_unknown()));
  } else if (sound.cards.empty()) {
    facts.Add("sound devices", "none");
  }
  for (const probes::SoundCard& card : sound.cards) {
    facts.Add(
        card.id.empty() ? fmt::format("card {}", card.number) : card.id,
        fmt::format("{}, {} and {}{}", card.name, Plural(card.inputs, "input"),
                    Plural(card.outputs, "output"), PlaceText(card.usb_path, card.pci_address)));
  }
  return PartOf("Sound", std::move(facts));
}

}  // namespace report
