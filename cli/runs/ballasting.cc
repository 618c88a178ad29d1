// SPDX-License-Identifier: Apache-2.0
//
// Hands the figures of earlier measurements on.

#include "cli/runs/ballasting.h"

#include <algorithm>
#include <cstddef>
#include <filesystem>

#include "report/loads/cpu_use.h"
#include "report/loads/judged_run.h"

namespace cli {
namespace {

/// Bytes a second that the rehearsal's recordings wrote, by folder.
std::vector<bench::BallastDisk> DisksOf(const report::Evidence& evidence,
                                        const bench::RehearsalPlan& plan) {
  const bench::Rehearsal& rehearsal = *evidence.results.rehearsal;
  std::vector<bench::BallastDisk> disks;
  for (std::size_t i = 0; i < plan.outputs.size() && i < rehearsal.outputs.size(); ++i) {
    const bench::OutputPlan& output = plan.outputs[i];
    if (output.stream() || output.format == "null") {
      continue;
    }
    const auto folder = std::filesystem::path(output.target).parent_path();
    auto place = std::find_if(disks.begin(), disks.end(),
                              [&](const bench::BallastDisk& one) { return one.folder == folder; });
    if (place == disks.end()) {
      place = disks.insert(disks.end(), bench::BallastDisk{folder, 0, 0});
    }
    place->own_bytes_per_second +=
        static_cast<double>(rehearsal.outputs[i].bytes) / std::max(rehearsal.seconds, 1.0);
  }
  for (bench::BallastDisk& place : disks) {
    for (const bench::DiskRun& measured : evidence.results.disks) {
      if (measured.folder == place.folder.string()) {
        place.sustained_bytes_per_second = measured.sustained_bytes_per_second;
      }
    }
  }
  return disks;
}

}  // namespace

bool WorthBallast(const report::Evidence& evidence) {
  const auto run = report::JudgeRun(evidence.results, evidence.profile.margins);
  return run && evidence.results.rehearsal->complete && run->due > 0 && run->Dropped() == 0;
}

bench::BallastOptions BallastOptionsFrom(const report::Evidence& evidence,
                                         const bench::RehearsalPlan& plan, double seconds) {
  const probes::CpuInventory& cpu = evidence.inventory.cpu;
  bench::BallastOptions options;
  options.seconds = seconds;
  options.usable_cpus = cpu.usable_cpus.value_or(cpu.threads.value_or(1));
  if (const auto use = report::JudgedCpuUse(evidence.results, evidence.telemetry)) {
    options.own_cpus = use->own;
    options.others_cpus = use->Taken().value_or(0);  // where it was not read the search tells
  }
  options.cache_bytes = plan.cache_bytes;
  options.available_memory_bytes =
      cpu.memory_available_bytes.value_or(options.available_memory_bytes);
  options.memory_traffic_bytes_per_second = evidence.demand.memory_traffic_bytes_per_second;
  options.disks = DisksOf(evidence, plan);
  return options;
}

}  // namespace cli
