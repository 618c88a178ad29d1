// SPDX-License-Identifier: Apache-2.0

#include "report/show/terminal/inventory.h"

#include <string>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "report/show/inventory_parts.h"
#include "report/show/terminal/machine.h"
#include "report/show/terminal/pcie_lines.h"
#include "report/show/terminal/setting_lines.h"
#include "report/words/quantities.h"

namespace report {
namespace {

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

std::string HeldText(const probes::CoreKind& kind) {
  return kind.held_threads.value_or(0) > 0 && kind.allowed_khz
             ? ", held at " + GigaHertz(*kind.allowed_khz)
             : std::string();
}

void PutPart(TerminalPage& page, const InventoryPart& part, bool details) {
  if (part.lines.empty()) {
    return;
  }
  page.Heading(part.title);
  for (const InventoryLine& line : part.lines) {
    if (details || !line.detail) {
      page.Fact(line.name, line.text);
    }
  }
}

}  // namespace

void PutCpu(TerminalPage& page, const probes::CpuInventory& cpu) {
  page.Heading("CPU and memory");
  page.Fact("model", cpu.model);
  page.Fact("cores", CountOf(cpu.cores, "core") + ", " + CountOf(cpu.threads, "thread") + ", " +
                         CountOf(cpu.packages, "package") + ", " +
                         CountOf(cpu.numa_nodes, "NUMA node"));
  if (cpu.kinds.size() > 1) {
    for (const probes::CoreKind& kind : cpu.kinds) {
      page.Fact(kind.name, fmt::format("{}, {}, up to {}{}", Plural(kind.cores, "core"),
                                       Plural(kind.threads, "thread"),
                                       TextOf(kind.max_khz, GigaHertz), HeldText(kind)));
    }
  }
  for (const probes::CpuCache& cache : cpu.caches) {
    page.Fact(fmt::format("cache L{}", cache.level),
              fmt::format("{} x {} {}", cache.count, CacheSizeText(cache.size_bytes), cache.type));
  }
  if (cpu.caches.empty()) {
    page.FactUnknown("caches", WhyNoCaches(cpu));
  }
  page.Fact("usable CPUs", cpu.usable_cpus, FormatNumber);
  page.Fact("slowest", cpu.min_khz, GigaHertz);
  page.Fact("fastest", cpu.max_khz, GigaHertz);
  page.Fact("driver", cpu.frequency_driver);
  page.Fact("governor", cpu.governor);
  page.Fact("energy wish", cpu.energy_preference);
  page.Fact("boost", cpu.boost_enabled, [](bool on) { return on ? "on" : "off"; });
  page.Fact("throttled", cpu.throttle_events,
            [](std::int64_t events) { return Plural(events, "time") + " since start"; });
  page.Fact("hypervisor", cpu.hypervisor);
  page.Fact("memory", cpu.memory_bytes, Bytes);
  page.Fact("  free for use", cpu.memory_available_bytes, Bytes);
  page.Fact("swap", cpu.swap_bytes, Bytes);
}

void PutSettings(TerminalPage& page, const probes::SettingsInventory& settings, bool details) {
  page.Heading("Settings");
  page.Fact("system", settings.os);
  page.Fact("kernel", settings.kernel);
  page.Fact("on mains", settings.on_mains, YesNo);
  page.Fact("battery", settings.has_battery, YesNo);
  page.Fact("power profile", settings.power_profile);
  page.Fact("PCIe saving", settings.pcie_power_saving);
  page.Fact("clock in step", settings.clock_synchronised, YesNo);
  page.Fact("file watchers", settings.file_watchers,
            [](const std::vector<probes::FileWatcher>& watchers) {
              std::string text;
              for (const probes::FileWatcher& watcher : watchers) {
                text += fmt::format("{}{} ({})", text.empty() ? "" : ", ", watcher.process,
                                    watcher.pid);
              }
              return text.empty() ? "none" : text;
            });
  for (const SettingLine& line : SettingLines(settings)) {
    if (details || line.text) {
      page.Fact(line.name, line.text);
    }
  }
}

void PutFailures(TerminalPage& page, const std::vector<probes::ProbeRun>& runs) {
  bool first = true;
  for (const probes::ProbeRun& run : runs) {
    if (run.failure.empty()) {
      continue;
    }
    if (first) {
      page.Heading("Probes that failed");
      first = false;
    }
    page.Fact(run.probe, run.failure);
  }
}

void PutPcie(TerminalPage& page, const probes::Inventory& inventory) {
  const auto lines = PcieLines(inventory);
  if (lines.empty()) {
    return;
  }
  page.Heading("PCIe");
  for (const PcieLine& line : lines) {
    std::string text = fmt::format("{} {}: {}", base::WordOf(line.kind), line.name, line.link);
    text += line.best.empty() ? "" : ", at best " + line.best;
    text += line.way.empty() ? "" : ", by " + line.way;
    page.Fact(line.address, text);
  }
}

std::string WriteInventoryText(const probes::Inventory& inventory, const TerminalStyle& style,
                               bool details) {
  TerminalPage page(style);
  page.Paragraph(0, {inventory.live ? "What this PC has"
                                    : "What the PC captured in " + inventory.machine_root + " has",
                     Tone::kStrong});
  PutPart(page, BoardPart(inventory.board), details);
  PutCpu(page, inventory.cpu);
  PutGpu(page, inventory);
  PutPart(page, OtherCardPart(inventory.pci), details);
  PutPart(page, DisplayPart(inventory.gpu), details);
  PutCodecs(page, inventory.codecs);
  PutUsb(page, inventory.usb);
  PutPart(page, CameraPart(inventory.usb), details);
  PutPart(page, FreePortPart(inventory.usb), details);
  PutPcie(page, inventory);
  PutPart(page, DiskPart(inventory.disks), details);
  PutStorage(page, inventory.storage);
  PutNetwork(page, inventory.network);
  PutPart(page, SoundPart(inventory.sound), details);
  PutSettings(page, inventory.settings, details);
  PutFailures(page, inventory.runs);
  if (!details) {
    page.Blank();
    page.Paragraph(0,
                   {"All modes, settings and counters: rigproof inventory --details", Tone::kDim});
  }
  return page.text();
}

}  // namespace report
