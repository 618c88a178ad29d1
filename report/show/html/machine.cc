// SPDX-License-Identifier: Apache-2.0
//
// The machine on the report page: CPU, memory and settings, and how the probes fared.

#include "report/show/html/machine.h"

#include <fmt/format.h>

#include "base/text.h"
#include "report/show/html/sections.h"
#include "report/show/inventory_parts.h"
#include "report/show/terminal/pcie_lines.h"
#include "report/show/terminal/setting_lines.h"
#include "report/words/figures.h"

namespace report {

namespace {

std::string Bytes(std::int64_t bytes) {
  return base::FormatBytes(static_cast<double>(bytes));
}

std::string Hertz(std::int64_t khz) {
  return fmt::format("{} MHz", FormatCount(khz / 1000));
}

std::string Number(int number) {
  return std::to_string(number);
}

/// A reading of what has a list and no reason of its own.
base::Reading<std::string> ListOr(const std::string& text, const std::string& why) {
  return text.empty() ? base::Reading<std::string>::Unknown(why) : base::Reading<std::string>(text);
}

std::string KindsText(const std::vector<probes::CoreKind>& kinds) {
  std::string text;
  for (const probes::CoreKind& kind : kinds) {
    text += fmt::format("{}{} {} with {}", text.empty() ? "" : "; ", kind.cores, kind.name,
                        Plural(kind.threads, "thread"));
    text += kind.max_khz ? ", up to " + Hertz(*kind.max_khz) : std::string();
    text += kind.held_threads.value_or(0) > 0 && kind.allowed_khz
                ? ", held at " + Hertz(*kind.allowed_khz)
                : std::string();
  }
  return text;
}

std::string CachesText(const std::vector<probes::CpuCache>& caches) {
  std::string text;
  for (const probes::CpuCache& cache : caches) {
    text += fmt::format("{}level {} {}: {} x {}", text.empty() ? "" : "; ", cache.level, cache.type,
                        cache.count, CacheSizeText(cache.size_bytes));
  }
  return text;
}

show::Facts CpuFacts(const probes::CpuInventory& cpu) {
  show::Facts facts;
  facts.Add("Model", cpu.model);
  facts.Add("Packages", cpu.packages, Number);
  facts.Add("Cores", cpu.cores, Number);
  facts.Add("Threads", cpu.threads, Number);
  facts.Add("Usable by us", cpu.usable_cpus,
            [](double cpus) { return FormatNumber(cpus) + " CPUs"; });
  facts.Add("Kinds of core", ListOr(KindsText(cpu.kinds), cpu.cores.why_unknown()));
  facts.Add("Caches", ListOr(CachesText(cpu.caches), WhyNoCaches(cpu)));
  facts.Add("Memory regions", cpu.numa_nodes, Number);
  facts.Add("Slowest clock", cpu.min_khz, Hertz);
  facts.Add("Fastest clock", cpu.max_khz, Hertz);
  facts.Add("Clock driver", cpu.frequency_driver);
  facts.Add("Governor", cpu.governor);
  facts.Add("Energy preference", cpu.energy_preference);
  facts.Add("Boost", cpu.boost_enabled, YesNo);
  facts.Add("Slowed by heat since start", cpu.throttle_events,
            [](std::int64_t events) { return Plural(events, "time"); });
  facts.Add("Virtual machine", cpu.hypervisor);
  facts.Add("Memory", cpu.memory_bytes, Bytes);
  facts.Add("Memory free", cpu.memory_available_bytes, Bytes);
  facts.Add("Swap", cpu.swap_bytes, Bytes);
  return facts;
}

std::string WatchersText(const std::vector<probes::FileWatcher>& watchers) {
  std::string text;
  for (const probes::FileWatcher& watcher : watchers) {
    text += fmt::format("{}{} ({})", text.empty() ? "" : ", ", watcher.process, watcher.pid);
  }
  return text.empty() ? "none" : text;
}

show::Facts SettingsFacts(const probes::SettingsInventory& settings) {
  show::Facts facts;
  facts.Add("System", settings.os);
  facts.Add("Kernel", settings.kernel);
  facts.Add("On mains", settings.on_mains, YesNo);
  facts.Add("Battery", settings.has_battery, YesNo);
  facts.Add("Power profile", settings.power_profile);
  facts.Add("PCIe power saving", settings.pcie_power_saving);
  facts.Add("Clock synchronised", settings.clock_synchronised, YesNo);
  facts.Add("Programs that watch files", settings.file_watchers, WatchersText);
  for (const SettingLine& line : SettingLines(settings)) {
    facts.Add(Capitalised(line.name), line.text);
  }
  return facts;
}

Table PcieTable(const probes::Inventory& machine) {
  Table table{"PCI functions and their links",
              {{"Function", false},
               {"For", false},
               {"Device", false},
               {"Link", false},
               {"At best", false},
               {"Ports above", false}},
              {}};
  for (const PcieLine& line : PcieLines(machine)) {
    table.rows.push_back({{line.address},
                          {std::string(base::WordOf(line.kind))},
                          {line.name},
                          {line.link},
                          {OrDash(line.best)},
                          {OrDash(line.way)}});
  }
  return table;
}

Table RunsTable(const std::vector<probes::ProbeRun>& runs) {
  Table table{"How the looking went", {{"Part", false}, {"Took", true}, {"Outcome", false}}, {}};
  for (const probes::ProbeRun& run : runs) {
    const bool ran = run.failure.empty();
    table.rows.push_back({{run.probe},
                          {FormatNumber(run.seconds * 1000) + " ms"},
                          {ran ? std::string("read") : "failed: " + run.failure,
                           ran ? Mark::kNone : Mark::kUnknown}});
  }
  return table;
}

/// Lines without a name go on with the one before.
View PartView(const InventoryPart& part) {
  show::Facts facts;
  std::string name;
  base::Reading<std::string> text = std::string();
  const auto put = [&] {
    if (!name.empty()) {
      facts.Add(name, text);
    }
  };
  for (const InventoryLine& line : part.lines) {
    if (line.name.empty() && text) {
      text = *text + "; " + (line.text ? *line.text : "unknown: " + line.text.why_unknown());
      continue;
    }
    put();
    name = line.name;
    text = line.text;
  }
  put();
  View view("title", View(part.title));
  view.set("facts", ToView(facts));
  return view;
}

View PartsView(const probes::Inventory& machine) {
  ViewList list;
  for (const InventoryPart& part : InventoryParts(machine)) {
    list.emplace_back(PartView(part));
  }
  return View(list);
}

}  // namespace

View MachineView(const Document& document) {
  const probes::Inventory& machine = document.evidence.inventory;
  View view("cpu", ToView(CpuFacts(machine.cpu)));
  view.set("settings", ToView(SettingsFacts(machine.settings)));
  view.set("adapters", ToView(AdapterTable(machine)));
  view.set("parts", PartsView(machine));
  view.set("graphics_unknown", machine.gpu.present
                                   ? View(false)
                                   : View("unknown: " + machine.gpu.present.why_unknown()));
  view.set("codecs", ToView(CodecTable(machine.codecs)));
  view.set("codecs_unknown", machine.codecs.tried
                                 ? View(false)
                                 : View("unknown: " + machine.codecs.tried.why_unknown()));
  view.set("ffmpeg", View(machine.codecs.ffmpeg_version));
  view.set("has_ffmpeg", View(!machine.codecs.ffmpeg_version.empty()));
  view.set("usb", ToView(UsbTable(machine.usb)));
  view.set("usb_unknown", machine.usb.present
                              ? View(false)
                              : View("unknown: " + machine.usb.present.why_unknown()));
  view.set("storage", StorageView(machine.storage));
  view.set("links", ToView(NetworkTable(machine.network)));
  view.set("network_unknown", machine.network.why_unknown.empty()
                                  ? View(false)
                                  : View("unknown: " + machine.network.why_unknown));
  const Table pcie = PcieTable(machine);
  view.set("has_pcie", View(!pcie.rows.empty()));
  view.set("pcie", ToView(pcie));
  view.set("runs", ToView(RunsTable(machine.runs)));
  return view;
}

}  // namespace report
