// SPDX-License-Identifier: Apache-2.0

#include "probes/cpu/throttle_counters.h"

#include <map>
#include <string>
#include <utility>

namespace probes {

base::Reading<std::int64_t> ReadThrottleEvents(const base::MachineRoot& root,
                                               const std::vector<int>& cpus) {
  std::map<std::pair<std::int64_t, std::int64_t>, std::int64_t> by_core;
  std::map<std::int64_t, std::int64_t> by_package;
  for (const int cpu : cpus) {
    const std::string folder = "/sys/devices/system/cpu/cpu" + std::to_string(cpu) + "/";
    const auto core_count = root.ReadInt(folder + "thermal_throttle/core_throttle_count");
    const auto package_count = root.ReadInt(folder + "thermal_throttle/package_throttle_count");
    if (!core_count && !package_count) {
      continue;
    }
    const std::int64_t package = root.ReadInt(folder + "topology/physical_package_id").value_or(-1);
    const std::int64_t core = root.ReadInt(folder + "topology/core_id").value_or(cpu);
    if (core_count) {
      by_core[{package, core}] = *core_count;
    }
    if (package_count) {
      by_package[package] = *package_count;
    }
  }
  if (by_core.empty() && by_package.empty()) {
    return base::Reading<std::int64_t>::Unknown("this processor shows no throttle counters");
  }
  std::int64_t events = 0;
  for (const auto& [core, count] : by_core) {
    events += count;
  }
  for (const auto& [package, count] : by_package) {
    events += count;
  }
  return events;
}

}  // namespace probes
