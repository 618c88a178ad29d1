// SPDX-License-Identifier: Apache-2.0

#include "probes/cpu/cpu.h"

#include <algorithm>
#include <functional>
#include <optional>
#include <set>
#include <utility>

#include "base/text.h"
#include "probes/cpu/cgroup.h"
#include "probes/cpu/throttle_counters.h"
#include "probes/cpu/topology.h"
#include "probes/cpu/usable_cpus.h"
#include "probes/procfs/system_texts.h"

namespace probes {
namespace {

using base::MachineRoot;
using base::Reading;

constexpr std::string_view kCpuFolder = "/sys/devices/system/cpu";
constexpr const char* kNoFrequencies = "no cpufreq driver tells frequencies";

std::string CpuFile(int cpu, std::string_view file) {
  return std::string(kCpuFolder) + "/cpu" + std::to_string(cpu) + "/" + std::string(file);
}

Reading<int> CountOrUnknown(int count, const char* what) {
  return count > 0 ? Reading<int>(count)
                   : Reading<int>::Unknown(std::string("the machine does not list its ") + what);
}

/// The largest (or, by std::less, smallest) value of one cpufreq file over `cpus`.
template <typename Better>
Reading<std::int64_t> BestFrequency(const MachineRoot& root, const std::vector<int>& cpus,
                                    std::string_view file, Better better) {
  std::optional<std::int64_t> best;
  for (const int cpu : cpus) {
    const auto khz = root.ReadInt(CpuFile(cpu, "cpufreq/" + std::string(file)));
    if (khz && *khz > 0 && (!best || better(*khz, *best))) {
      best = *khz;
    }
  }
  return best ? Reading<std::int64_t>(*best) : Reading<std::int64_t>::Unknown(kNoFrequencies);
}

/// The text that all CPUs have in a cpufreq file, or "mixed: a, b".
Reading<std::string> CommonText(const MachineRoot& root, const std::vector<int>& cpus,
                                std::string_view file, const char* why_unknown) {
  std::set<std::string> texts;
  for (const int cpu : cpus) {
    const auto text = root.ReadTrimmed(CpuFile(cpu, "cpufreq/" + std::string(file)));
    if (text && !text->empty()) {
      texts.insert(base::Printable(*text, 40));
    }
  }
  if (texts.empty()) {
    return Reading<std::string>::Unknown(why_unknown);
  }
  if (texts.size() == 1) {
    return *texts.begin();
  }
  std::string mixed;
  for (const std::string& text : texts) {
    mixed += (mixed.empty() ? "mixed: " : ", ") + text;
  }
  return mixed;
}

/// https://docs.kernel.org/admin-guide/pm/: cpufreq/boost is 1 when allowed,
/// intel_pstate/no_turbo is 1 when it is not.
Reading<bool> ReadBoost(const MachineRoot& root) {
  const auto no_turbo = root.ReadInt(std::string(kCpuFolder) + "/intel_pstate/no_turbo");
  if (no_turbo) {
    return *no_turbo == 0;
  }
  const auto boost = root.ReadInt(std::string(kCpuFolder) + "/cpufreq/boost");
  if (boost) {
    return *boost != 0;
  }
  return Reading<bool>::Unknown("no cpufreq driver tells whether boost is on");
}

std::optional<std::string> HypervisorName(const MachineRoot& root) {
  const auto type = root.ReadTrimmed("/sys/hypervisor/type");
  if (type && !type->empty()) {
    return base::Printable(*type, 40);
  }
  std::string name;
  for (const char* file : {"/sys/class/dmi/id/sys_vendor", "/sys/class/dmi/id/product_name"}) {
    const auto text = root.ReadTrimmed(file);
    if (text && !text->empty()) {
      name += (name.empty() ? "" : " ") + base::Printable(*text, 60);
    }
  }
  return name.empty() ? std::nullopt : std::optional(name);
}

Reading<std::string> ReadHypervisor(const MachineRoot& root, const CpuInfo& info) {
  if (info.hypervisor_flag && !*info.hypervisor_flag && !root.Exists("/sys/hypervisor/type")) {
    return std::string("none");
  }
  if (!info.hypervisor_flag && !root.Exists("/sys/hypervisor/type")) {
    return Reading<std::string>::Unknown("/proc/cpuinfo has no flag that tells");
  }
  return HypervisorName(root).value_or("yes, unnamed");
}

Reading<std::int64_t> FromMemInfo(const std::optional<std::int64_t>& bytes) {
  return bytes ? Reading<std::int64_t>(*bytes)
               : Reading<std::int64_t>::Unknown("not in /proc/meminfo");
}

void FillMemory(const MachineRoot& root, CpuInventory& cpu) {
  const auto text = root.Read("/proc/meminfo");
  if (!text) {
    const Reading<std::int64_t> unknown{base::Result<std::int64_t>(text.error())};
    cpu.memory_bytes = cpu.memory_available_bytes = cpu.swap_bytes = unknown;
    return;
  }
  const MemInfo info = ParseMemInfo(*text);
  cpu.memory_bytes = FromMemInfo(info.total_bytes);
  cpu.memory_available_bytes = FromMemInfo(info.available_bytes);
  cpu.swap_bytes = FromMemInfo(info.swap_bytes);
  const auto groups = ReadMemoryGroups(root);
  const auto limit = groups ? ReadMemoryLimit(root, *groups) : std::nullopt;
  if (limit && cpu.memory_bytes.known() && cpu.memory_available_bytes.known()) {
    cpu.memory_bytes = std::min(*cpu.memory_bytes, limit->limit_bytes);
    cpu.memory_available_bytes = std::min(*cpu.memory_available_bytes, limit->free_bytes);
  }
}

/// What one kind's threads are allowed now, against what each of them can.
void FillAllowed(const MachineRoot& root, const std::vector<int>& cpus, CoreKind& kind) {
  // https://docs.kernel.org/admin-guide/pm/cpufreq.html: scaling_max_freq is the policy's limit,
  // cpuinfo_max_freq what the processor can.
  std::optional<std::int64_t> least;
  int held = 0;
  for (const int cpu : cpus) {
    const auto most = root.ReadInt(CpuFile(cpu, "cpufreq/cpuinfo_max_freq"));
    const auto allowed = root.ReadInt(CpuFile(cpu, "cpufreq/scaling_max_freq"));
    if (!most || !allowed || *most <= 0 || *allowed <= 0) {
      continue;
    }
    least = std::min(least.value_or(*allowed), *allowed);
    held += *allowed < *most ? 1 : 0;
  }
  if (least) {
    kind.allowed_khz = *least;
    kind.held_threads = held;
  } else {
    kind.allowed_khz = Reading<std::int64_t>::Unknown(kNoFrequencies);
    kind.held_threads = Reading<int>::Unknown(kNoFrequencies);
  }
}

/// https://docs.kernel.org/admin-guide/pm/intel_pstate.html: max_perf_pct holds all processors,
/// whatever their policies allow.
Reading<int> ReadPerformanceLimit(const MachineRoot& root) {
  const auto percent = root.ReadInt(std::string(kCpuFolder) + "/intel_pstate/max_perf_pct");
  if (!percent) {
    return Reading<int>::Unknown("the frequency driver has no such setting");
  }
  if (*percent < 0 || *percent > 100) {
    return Reading<int>::Unknown("intel_pstate/max_perf_pct: found " + std::to_string(*percent));
  }
  return static_cast<int>(*percent);
}

void FillTopology(const MachineRoot& root, const CpuTopology& topology, CpuInventory& cpu) {
  cpu.packages = CountOrUnknown(topology.packages, "packages");
  cpu.cores = CountOrUnknown(topology.cores, "cores");
  cpu.threads = CountOrUnknown(topology.threads, "processors");
  cpu.numa_nodes = CountOrUnknown(topology.numa_nodes, "memory nodes");
  cpu.caches = topology.caches;
  for (CpuCache& cache : cpu.caches) {
    if (!cache.size_bytes || *cache.size_bytes <= 0) {
      cache.size_bytes = Reading<std::int64_t>::Unknown("the kernel tells no size of it");
    }
  }
  for (const CpuTopology::Kind& kind : topology.kinds) {
    CoreKind told;
    told.name = kind.name;
    told.cores = kind.cores;
    told.threads = static_cast<int>(kind.cpus.size());
    told.max_khz = BestFrequency(root, kind.cpus, "cpuinfo_max_freq", std::greater<>());
    told.base_khz = BestFrequency(root, kind.cpus, "base_frequency", std::greater<>());
    FillAllowed(root, kind.cpus, told);
    cpu.kinds.push_back(std::move(told));
  }
}

void FillFrequencies(const MachineRoot& root, const std::vector<int>& cpus, CpuInventory& cpu) {
  cpu.min_khz = BestFrequency(root, cpus, "scaling_min_freq", std::less<>());
  cpu.max_khz = BestFrequency(root, cpus, "scaling_max_freq", std::greater<>());
  cpu.frequency_driver = CommonText(root, cpus, "scaling_driver", "no cpufreq driver");
  cpu.governor = CommonText(root, cpus, "scaling_governor", "no cpufreq driver");
  cpu.energy_preference = CommonText(root, cpus, "energy_performance_preference",
                                     "the frequency driver has no such setting");
  cpu.boost_enabled = ReadBoost(root);
  cpu.firmware_khz = BestFrequency(root, cpus, "bios_limit", std::less<>());
  cpu.performance_limit = ReadPerformanceLimit(root);
  cpu.throttle_events = ReadThrottleEvents(root, cpus);
}

}  // namespace

CpuInventory ReadCpu(const MachineRoot& root) {
  CpuInventory cpu;
  const auto text = root.Read("/proc/cpuinfo", 16 << 20);
  const CpuInfo info = text ? ParseCpuInfo(*text) : CpuInfo{};
  if (!text) {
    cpu.model = base::Result<std::string>(text.error());
  } else {
    cpu.model = info.model.empty() ? Reading<std::string>::Unknown("/proc/cpuinfo names no model")
                                   : Reading<std::string>(info.model);
  }
  const auto topology = ReadCpuTopology(root);
  std::vector<int> cpus;
  if (topology) {
    FillTopology(root, *topology, cpu);
    for (const CpuTopology::Kind& kind : topology->kinds) {
      cpus.insert(cpus.end(), kind.cpus.begin(), kind.cpus.end());
    }
  } else {
    cpu.packages = cpu.cores = cpu.threads = cpu.numa_nodes =
        Reading<int>(base::Result<int>(topology.error()));
  }
  FillFrequencies(root, cpus, cpu);
  cpu.hypervisor = ReadHypervisor(root, info);
  cpu.usable_cpus = ReadUsableCpus(root);
  FillMemory(root, cpu);
  return cpu;
}

}  // namespace probes
