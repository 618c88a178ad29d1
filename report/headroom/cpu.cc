// SPDX-License-Identifier: Apache-2.0
//
// Headroom of CPU and memory.

#include <algorithm>

#include <fmt/format.h>

#include "base/text.h"
#include "report/cpu/size_cpu.h"
#include "report/headroom/headroom.h"

namespace report {
namespace {

constexpr const char* kRehearse = "rehearse the profile on this PC: `rigproof rehearse PROFILE`";

// What a quota or affinity leaves us, less what other processes and the host
// took of the whole machine.
double CpuCapacity(double usable, const base::Reading<int>& threads, double taken) {
  const double machine = threads.known() ? std::max<double>(*threads, usable) : usable;
  return std::max(0.0, std::min(usable, machine - taken));
}

// What was used is less than what was due wherever frames were dropped before they cost anything.
std::string DemandSource(const CpuUse& use, double due) {
  if (due > use.own) {
    return fmt::format(
        "needed: each stage's CPU time of a frame in the judged rehearsal, for all frames that "
        "were due ({:.2f} CPUs were used)",
        use.own);
  }
  return fmt::format(
      "needed: {} in the judged rehearsal{}",
      use.own_from_telemetry ? "mean of our CPU use" : "our CPU time over the run",
      use.simulation > 0 ? fmt::format(", less {:.2f} for simulating", use.simulation) : "");
}

}  // namespace

void CpuHeadroom(const Facts& facts, std::vector<Headroom>& rows) {
  Headroom row = NewRow(Resource::kCpu, "", "CPUs");
  row.margin_percent = facts.profile().margins.cpu_percent;
  const probes::CpuInventory& cpu = facts.machine().cpu;
  if (!facts.cpu) {
    row.source = facts.results().rehearsal ? "the CPU use of the rehearsal was not read"
                                           : "not rehearsed: CPU use is measured, never guessed";
    row.how_to_prove = kRehearse;
    rows.push_back(row);
    return;
  }
  const double due = CpusDue(facts.evidence);
  row.demand = std::max(facts.cpu->own, due);
  if (!cpu.usable_cpus.known()) {
    row.source = "usable CPUs unknown: " + cpu.usable_cpus.why_unknown();
    row.how_to_prove = "run on the PC itself, so that its usable CPUs can be read";
    rows.push_back(row);
    return;
  }
  const base::Reading<double> taken = facts.cpu->Taken();
  if (!taken.known()) {
    row.source = "what other programs and the host took was not read: " + taken.why_unknown();
    row.how_to_prove = "rehearse where the PC's CPU use can be read (/proc/stat)";
    rows.push_back(row);
    return;
  }
  double capacity = CpuCapacity(*cpu.usable_cpus, cpu.threads, *taken);
  if (facts.run && facts.run->due > 0 && facts.run->Dropped() == 0) {
    // Other programs took the rest, but not from us: what was asked was had.
    capacity = std::max(capacity, row.demand);
  }
  SetCapacity(row, capacity, Basis::kMeasured);
  row.source =
      DemandSource(*facts.cpu, due) +
      fmt::format("; available: {:.3g} usable CPUs, others took {:.2f} and the host {:.2f}",
                  *cpu.usable_cpus, *facts.cpu->others, *facts.cpu->steal_mean);
  rows.push_back(row);
}

void MemoryHeadroom(const Facts& facts, std::vector<Headroom>& rows) {
  Headroom row = NewRow(Resource::kMemory, "", "bytes");
  row.margin_percent = facts.profile().margins.memory_percent;
  const auto& rehearsal = facts.results().rehearsal;
  const bool measured = rehearsal && rehearsal->peak_resident_bytes > 0;
  row.demand = measured ? static_cast<double>(rehearsal->peak_resident_bytes)
                        : facts.demand().memory_pool_bytes;
  const base::Reading<std::int64_t>& available = facts.machine().cpu.memory_available_bytes;
  const std::string asked = measured ? "needed: peak resident size in the rehearsal"
                                     : "needed: computed from frames in flight and encoders";
  if (available.known()) {
    SetCapacity(row, static_cast<double>(*available), Basis::kRead);
    row.source = asked + "; available: memory that was available before it";
  } else {
    row.source = asked + "; available memory unknown: " + available.why_unknown();
    row.how_to_prove = "run on the PC itself, so that its free memory can be read";
  }
  rows.push_back(row);
}

}  // namespace report
