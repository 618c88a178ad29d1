// SPDX-License-Identifier: Apache-2.0

#include "probes/cpu/usable_cpus.h"

#include <sched.h>

#include <algorithm>
#include <cerrno>
#include <memory>
#include <optional>

#include "probes/cpu/cgroup.h"

namespace probes {
namespace {

struct FreeCpuSet {
  void operator()(cpu_set_t* set) const { CPU_FREE(set); }
};

/// Of a process; 0: this one.
std::optional<int> CpusByAffinity(int pid) {
  // The kernel refuses a set smaller than its own: grow until it fits.
  for (std::size_t cpus = 1024; cpus <= (1 << 18); cpus *= 2) {
    const std::unique_ptr<cpu_set_t, FreeCpuSet> set(CPU_ALLOC(cpus));
    const std::size_t size = CPU_ALLOC_SIZE(cpus);
    if (set == nullptr) {
      return std::nullopt;
    }
    CPU_ZERO_S(size, set.get());
    if (sched_getaffinity(pid, size, set.get()) == 0) {
      return CPU_COUNT_S(size, set.get());
    }
    if (errno != EINVAL) {
      return std::nullopt;
    }
  }
  return std::nullopt;
}

}  // namespace

base::Reading<double> ReadUsableCpus(const base::MachineRoot& root) {
  if (!root.live()) {
    return base::Reading<double>::Unknown("a captured machine does not say what we may use on it");
  }
  const auto affinity = CpusByAffinity(0);
  if (!affinity) {
    return base::Reading<double>::Unknown("the kernel does not tell this process's CPUs");
  }
  double usable = *affinity;
  if (const auto groups = ReadCpuGroups(root)) {
    usable = std::min(usable, ReadCpuQuota(root, *groups).value_or(usable));
  }
  return usable;
}

std::optional<double> UsableCpusOf(const base::MachineRoot& root, int pid) {
  const auto cpus = root.live() && pid != 0 ? CpusByAffinity(pid) : std::nullopt;
  return cpus ? std::optional<double>(*cpus) : std::nullopt;
}

}  // namespace probes
