// SPDX-License-Identifier: Apache-2.0

#include "probes/cpu/idle.h"

#include <algorithm>
#include <string>

#include <fmt/format.h>

#include "base/text.h"

namespace probes {

base::Reading<std::vector<CpuIdleState>> ReadIdleStates(const base::MachineRoot& root) {
  // https://docs.kernel.org/admin-guide/pm/cpuidle.html: state0 is the shallowest.
  static const std::string folder = "/sys/devices/system/cpu/cpu0/cpuidle";
  const auto names = root.List(folder);
  if (!names) {
    return base::Reading<std::vector<CpuIdleState>>::Unknown("the kernel shows no idle states");
  }
  std::vector<CpuIdleState> states;
  for (const std::string& name : *names) {
    const std::string state = fmt::format("{}/{}", folder, name);
    const auto latency = root.ReadInt(state + "/latency");
    if (!name.starts_with("state") || !latency) {
      continue;
    }
    CpuIdleState one;
    one.name = base::Printable(root.ReadTrimmed(state + "/name").value_or(name), 40);
    one.exit_latency_us = static_cast<int>(std::clamp<std::int64_t>(*latency, 0, INT32_MAX));
    one.disabled = root.ReadInt(state + "/disable").value_or(0) != 0;
    states.push_back(std::move(one));
  }
  return states;
}

}  // namespace probes
