// SPDX-License-Identifier: Apache-2.0
//
// What else took the CPU.

#include <algorithm>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/rules/rules.h"
#include "report/words/figures.h"

namespace report::rules {
namespace {

// Common practice: a host that takes more than 1 % on average costs frames.
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
  const FairTest& fair = input.fair_test;
  bool first = true;
  for (const TakenByOthers& taken : fair.took) {
    const bool lost = first && fair.dropped_for_lack > 0;
    const bool permitted = input.facts.run && input.facts.run->Permitted();
    Finding finding = NewFinding("background-" + std::string(base::WordOf(taken.resource)),
                                 lost && !permitted ? Severity::kStop : Severity::kWarn);
    finding.title = Capitalised(taken.text);
    finding.taken_by_others = taken.resource;
    finding.bears_on = {taken.resource};
    if (taken.resource == Resource::kCpu) {
      finding.bears_on.push_back(Resource::kEncoder);
    }
    if (lost) {
      finding.lost_frames = fair.dropped_for_lack;
      finding.evidence.push_back(
          CountText(fair.dropped_for_lack, "frame was", "frames were") +
          " dropped while what they left was too little for the production with its margins");
    }
    finding.evidence.push_back(
        "measured while the rehearsal was judged; a tenth of a CPU is what a fair test allows");
    finding.action = fair.command.empty()
                         ? std::string("Close or postpone these programs, then run it again.")
                         : "Close or postpone these programs, then run: " + fair.command;
    findings.push_back(finding);
    first = false;
  }
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
