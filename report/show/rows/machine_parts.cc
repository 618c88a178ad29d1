// SPDX-License-Identifier: Apache-2.0
//
// The CPU, cards, codecs, links and the order of all parts of a PC.

#include <fmt/format.h>

#include "base/text.h"
#include "report/show/rows/machine.h"
#include "report/show/rows/pcie_lines.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::Mark;
using show::Table;
using show::When;

std::string GigaHertz(std::int64_t khz) {
  return fmt::format("{:.2f} GHz", static_cast<double>(khz) / 1e6);
}

std::string Bytes(std::int64_t bytes) {
  return base::FormatBytes(static_cast<double>(bytes));
}

/// "2 packages", or that the number is unknown.
std::string CountOf(const base::Reading<int>& count, const std::string& word) {
  return count ? Plural(*count, word) : word + "s unknown: " + count.why_unknown();
}

std::string KindText(const probes::CoreKind& kind) {
  std::string text = fmt::format(
      "{}, {}, up to {}", Plural(kind.cores, "core"), Plural(kind.threads, "thread"),
      kind.max_khz ? GigaHertz(*kind.max_khz) : "unknown: " + kind.max_khz.why_unknown());
  return kind.held_threads.value_or(0) > 0 && kind.allowed_khz
             ? text + ", held at " + GigaHertz(*kind.allowed_khz)
             : text;
}

/// "1.5 MiB"; caches are sized in powers of two by everyone.
std::string CacheSizeText(const base::Reading<std::int64_t>& bytes) {
  constexpr std::int64_t kKib = 1024;
  constexpr std::int64_t kMib = kKib * 1024;
  if (!bytes) {
    return "size unknown: " + bytes.why_unknown();
  }
  return *bytes >= kMib ? FormatNumber(static_cast<double>(*bytes) / kMib) + " MiB"
                        : FormatNumber(static_cast<double>(*bytes) / kKib) + " KiB";
}

void AddCaches(const probes::CpuInventory& cpu, show::Facts& facts) {
  for (const probes::CpuCache& cache : cpu.caches) {
    facts.Add(fmt::format("cache L{}", cache.level),
              fmt::format("{} x {} {}", cache.count, CacheSizeText(cache.size_bytes), cache.type));
  }
  if (cpu.caches.empty()) {
    facts.AddUnknown("caches",
                     cpu.cores ? "the kernel shows none of them" : cpu.cores.why_unknown());
  }
}

std::string LinkText(const LinkWords& words) {
  if (words.best.empty() || words.best == words.now) {
    return "link " + words.now;
  }
  return "link " + words.now + " now, " + words.best + " at most";
}

std::string DriverText(const base::Reading<std::string>& driver) {
  return !driver ? "unknown: " + driver.why_unknown() : driver->empty() ? "none" : *driver;
}

void AddCards(const std::string& what, const probes::Inventory& machine,
              const std::vector<probes::PciDevice>& cards, show::Facts& facts) {
  for (const probes::PciDevice& card : cards) {
    const auto nodes = card.video_nodes.value_or({});
    facts.Add(what, card.name.empty() ? fmt::format("{:04x}:{:04x}", card.vendor_id, card.device_id)
                                      : card.name);
    facts.Add("", fmt::format("{}, driver {}{}{}, {}", card.address, DriverText(card.driver),
                              nodes.empty() ? "" : ", ", fmt::join(nodes, ", "),
                              LinkText(LinkWordsOf(machine, card))));
  }
}

std::string MillisecondsText(double seconds) {
  return FormatNumber(seconds * 1000) + " ms";
}

const char* Kind(const probes::CodecTrial& trial) {
  return trial.hardware ? "hardware" : "software";
}

Table TrialTable(const std::vector<probes::CodecTrial>& trials, bool encoders) {
  Table table{encoders ? "Encoders, opened and made to run" : "Decoders, opened and made to run",
              {{encoders ? "encoder" : "decoder", false, false, 10},
               {"codec"},
               {"kind"},
               {"at once", false, false, 10},
               {"trial took", true, false, 8, When::kPage}},
              {}};
  if (!encoders) {
    table.columns.erase(table.columns.begin() + 3);
  }
  for (const probes::CodecTrial& trial : trials) {
    if (trial.encoder != encoders || !trial.works) {
      continue;
    }
    std::vector<show::Cell> row{{trial.name}, {trial.codec}, {Kind(trial)}};
    if (encoders) {
      row.push_back(trial.hardware
                        ? show::ReadingCell(trial.sessions,
                                            [](int count) { return Plural(count, "session"); })
                        : show::Cell{"as the CPU allows"});
    }
    row.push_back({MillisecondsText(trial.seconds)});
    table.rows.push_back(std::move(row));
  }
  return table;
}

show::Lines RefusedOf(const std::vector<probes::CodecTrial>& trials) {
  show::Lines lines;
  for (const probes::CodecTrial& trial : trials) {
    if (!trial.works) {
      lines.lines.push_back(
          {fmt::format("refused: {} ({} {} {}) after {}: {}", trial.name, Kind(trial), trial.codec,
                       trial.encoder ? "encoder" : "decoder", MillisecondsText(trial.seconds),
                       trial.refusal.empty() ? "no reason given" : trial.refusal),
           Mark::kStop});
    }
  }
  return lines;
}

}  // namespace

show::Part CpuPart(const probes::CpuInventory& cpu) {
  show::Facts facts;
  facts.Add("model", cpu.model);
  facts.Add("cores", CountOf(cpu.cores, "core") + ", " + CountOf(cpu.threads, "thread") + ", " +
                         CountOf(cpu.packages, "package") + ", " +
                         CountOf(cpu.numa_nodes, "NUMA node"));
  for (const probes::CoreKind& kind : cpu.kinds) {
    if (cpu.kinds.size() > 1 || kind.held_threads.value_or(0) > 0) {
      facts.Add(kind.name.empty() ? "all" : kind.name, KindText(kind));
    }
  }
  AddCaches(cpu, facts);
  facts.Add("usable CPUs", cpu.usable_cpus, FormatNumber);
  facts.Add("slowest", cpu.min_khz, GigaHertz);
  facts.Add("fastest", cpu.max_khz, GigaHertz);
  facts.Add("driver", cpu.frequency_driver);
  facts.Add("governor", cpu.governor);
  facts.Add("energy wish", cpu.energy_preference);
  facts.Add("boost", cpu.boost_enabled, [](bool on) { return on ? "on" : "off"; });
  facts.Add("throttled", cpu.throttle_events,
            [](std::int64_t events) { return Plural(events, "time") + " since start"; });
  facts.Add("hypervisor", cpu.hypervisor);
  facts.Add("memory", cpu.memory_bytes, Bytes);
  facts.Add("free for use", cpu.memory_available_bytes, Bytes);
  facts.Add("swap", cpu.swap_bytes, Bytes);
  return PartOf("CPU and memory", std::move(facts));
}

show::Part GraphicsPart(const probes::Inventory& machine) {
  const probes::GpuInventory& gpu = machine.gpu;
  show::Facts facts;
  if (!gpu.present) {
    facts.AddUnknown("graphics", gpu.present.why_unknown());
  } else if (!*gpu.present && gpu.adapters.empty()) {
    facts.Add("graphics", "none");
  }
  AddCards("graphics", machine, gpu.adapters, facts);
  AddCards("capture card", machine, gpu.capture_cards, facts);
  return PartOf("Graphics and capture cards", std::move(facts));
}

show::Part CodecPart(const probes::CodecInventory& codecs) {
  show::Part part{"Encoders and decoders, opened and made to run", {}};
  show::Facts facts;
  if (!codecs.tried || !*codecs.tried) {
    facts.AddUnknown("encoders", codecs.tried ? "not tried" : codecs.tried.why_unknown());
    part.blocks.emplace_back(std::move(facts));
    return part;
  }
  if (!codecs.ffmpeg_version.empty()) {
    facts.Add("FFmpeg", codecs.ffmpeg_version);
    part.blocks.emplace_back(std::move(facts));
  }
  part.blocks.emplace_back(TrialTable(codecs.trials, true));
  part.blocks.emplace_back(TrialTable(codecs.trials, false));
  part.blocks.emplace_back(RefusedOf(codecs.trials));
  return part;
}

show::Part PciePart(const probes::Inventory& machine) {
  show::Facts facts;
  for (const PcieLine& line : PcieLines(machine)) {
    std::string text = fmt::format("{} {}: {}", base::WordOf(line.kind), line.name, line.link);
    text += line.best.empty() ? "" : ", at best " + line.best;
    text += line.way.empty() ? "" : ", by " + line.way;
    facts.Add(line.address, text);
  }
  return PartOf("PCIe", std::move(facts));
}

show::Part ChecksPart(const std::vector<probes::ProbeRun>& runs) {
  show::Facts facts;
  for (const probes::ProbeRun& run : runs) {
    const bool ran = run.failure.empty();
    const std::string took = MillisecondsText(run.seconds);
    facts.Add(run.probe,
              ran ? "read in " + took : fmt::format("failed after {}: {}", took, run.failure),
              ran ? When::kPage : When::kAlways);
  }
  return PartOf("Hardware checks", std::move(facts));
}

std::vector<show::Part> MachineInShort(const probes::Inventory& machine) {
  std::vector<show::Part> parts{BoardPart(machine.board),  CameraPart(machine.usb),
                                FreePortPart(machine.usb), OtherCardPart(machine.pci),
                                DisplayPart(machine.gpu),  DiskPart(machine.disks),
                                SoundPart(machine.sound)};
  std::erase_if(parts, [](const show::Part& part) { return part.empty(); });
  return parts;
}

std::vector<show::Part> MachineParts(const probes::Inventory& machine) {
  std::vector<show::Part> parts{
      BoardPart(machine.board),   CpuPart(machine.cpu),     GraphicsPart(machine),
      OtherCardPart(machine.pci), DisplayPart(machine.gpu), CodecPart(machine.codecs),
      UsbPart(machine.usb),       CameraPart(machine.usb),  FreePortPart(machine.usb),
      PciePart(machine),          DiskPart(machine.disks)};
  for (const probes::StorageInventory& place : machine.storage) {
    parts.push_back(StoragePart(place));
  }
  parts.push_back(NetworkPart(machine.network));
  parts.push_back(SoundPart(machine.sound));
  parts.push_back(SettingsPart(machine.settings));
  parts.push_back(ChecksPart(machine.runs));
  std::erase_if(parts, [](const show::Part& part) { return part.empty(); });
  return parts;
}

}  // namespace report
