// SPDX-License-Identifier: Apache-2.0
//
// What else took the CPU.

#include "report/rules/background.h"

#include <algorithm>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/figures.h"

namespace report::rules {
namespace {

// Common practice: other processes at more than 10 % of the machine during a
// take, or a host that takes more than 1 % on average, cost frames.
constexpr double kOthersShare = 0.10;
constexpr double kStealShare = 0.01;

double MachineCpus(const RuleInput& input) {
  const probes::CpuInventory& cpu = input.facts.machine().cpu;
  if (cpu.threads.known()) {
    return *cpu.threads;
  }
  return cpu.usable_cpus.value_or(0);
}

}  // namespace

void OthersBusy(const RuleInput& input, std::vector<Finding>& findings) {
  const double cpus = MachineCpus(input);
  const auto& use = input.facts.cpu;
  if (!use || cpus <= 0 || !use->others || *use->others / cpus <= kOthersShare) {
    return;
  }
  Finding finding = NewFinding("background-cpu", Severity::kWarn);
  finding.title = fmt::format("Other processes took {:.0f} % of the machine during the rehearsal",
                              *use->others / cpus * 100);
  finding.evidence.push_back(fmt::format("{:.2f} of {:g} CPUs (median)", *use->others, cpus));
  if (const auto& telemetry = input.facts.evidence.telemetry) {
    for (const probes::ProcessShare& process : telemetry->others) {
      finding.evidence.push_back(fmt::format("{} (process {}): {:.1f} s of CPU",
                                             base::Printable(process.name, 60), process.pid,
                                             process.cpu_seconds));
    }
  }
  finding.action = "Close or postpone these programs for the show, then run again.";
  findings.push_back(finding);
}

void HostSteal(const RuleInput& input, std::vector<Finding>& findings) {
  const double cpus = MachineCpus(input);
  const auto& use = input.facts.cpu;
  if (!use || cpus <= 0 || !use->steal_mean || *use->steal_mean / cpus <= kStealShare) {
    return;
  }
  Finding finding = NewFinding("host-steal", Severity::kWarn);
  finding.title =
      fmt::format("The host took {:.1f} % of this guest's CPU time", *use->steal_mean / cpus * 100);
  finding.evidence.push_back(fmt::format("{:.2f} of {:g} CPUs on average, {:.2f} at worst",
                                         *use->steal_mean, cpus, use->steal_worst));
  finding.action = "Reserve CPUs for this guest, or run the show on a PC of its own.";
  findings.push_back(finding);
}

void QuotaThrottled(const RuleInput& input, std::vector<Finding>& findings) {
  const auto& telemetry = input.facts.evidence.telemetry;
  if (!telemetry || telemetry->quota_throttled_seconds.value_or(0) <= 0) {
    return;
  }
  Finding finding = NewFinding("cpu-quota", Severity::kWarn);
  finding.title = fmt::format("A CPU quota held the run back for {}",
                              base::FormatSeconds(*telemetry->quota_throttled_seconds));
  finding.evidence.push_back(
      fmt::format("usable: {:g} CPUs", input.facts.machine().cpu.usable_cpus.value_or(0)));
  finding.action = "Run outside the container or group that has the quota, or raise it.";
  findings.push_back(finding);
}

void VirtualMachine(const RuleInput& input, std::vector<Finding>& findings) {
  const base::Reading<std::string>& hypervisor = input.facts.machine().cpu.hypervisor;
  if (!hypervisor.known() || *hypervisor == "none" || hypervisor->empty()) {
    return;
  }
  findings.push_back({.id = "virtual-machine",
                      .severity = Severity::kNote,
                      .title = "This PC is a virtual machine",
                      .evidence = {"hypervisor: " + base::Printable(*hypervisor, 60),
                                   "PCIe and disk links of the PC below are not shown to it"},
                      .action = "Take the verdict as one for this guest on this host at this "
                                "hour; other guests can change it."});
}

void FileScanners(const RuleInput& input, std::vector<Finding>& findings) {
  const auto& watchers = input.facts.machine().settings.file_watchers;
  if (!watchers.known() || watchers->empty()) {
    return;
  }
  Finding finding = NewFinding("file-scanners", Severity::kWarn);
  finding.title = fmt::format(
      "{} at every file that is opened",
      watchers->size() == 1
          ? "A process looks"
          : CountText(static_cast<long long>(watchers->size()), "process looks", "processes look"));
  for (const probes::FileWatcher& watcher : *watchers) {
    finding.evidence.push_back(fmt::format("{} (process {}) holds a fanotify mark",
                                           base::Printable(watcher.process, 60), watcher.pid));
  }
  finding.action = "Exclude the recording folder from the scan.";
  findings.push_back(finding);
}

}  // namespace report::rules
