// SPDX-License-Identifier: Apache-2.0
//
// What the CPU and memory probes can say.

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "base/reading.h"

namespace probes {

/// One kind of core; a uniform machine has one entry, a hybrid one several.
struct CoreKind {
  std::string name;  // "performance", "efficient", or "core"
  int cores = 0;
  int threads = 0;
  base::Reading<std::int64_t> max_khz;           // most that its cores can do, as the driver tells
  base::Reading<std::int64_t> allowed_khz = {};  // least that one of its threads is allowed at most
  base::Reading<std::int64_t> base_khz = {};     // most without boost, where the driver tells it
  base::Reading<int> held_threads = {};          // allowed less than their own most
};

struct CpuCache {
  int level = 0;
  std::string type;  // "unified", "data", "instruction"
  base::Reading<std::int64_t> size_bytes;
  int count = 0;
};

struct CpuInventory {
  base::Reading<std::string> model;
  base::Reading<int> packages;
  base::Reading<int> cores;
  base::Reading<int> threads;
  base::Reading<int> numa_nodes;
  std::vector<CoreKind> kinds;
  std::vector<CpuCache> caches;
  base::Reading<std::int64_t> min_khz;
  base::Reading<std::int64_t> max_khz;
  base::Reading<std::string> frequency_driver;
  base::Reading<std::string> governor;  // the one in use, or "mixed: a, b"
  base::Reading<std::string> energy_preference;
  base::Reading<bool> boost_enabled;
  base::Reading<int> performance_limit;         // percent of its speed that intel_pstate allows
  base::Reading<std::int64_t> firmware_khz;     // most that the firmware allows now (ACPI _PPC)
  base::Reading<std::int64_t> throttle_events;  // since boot, all cores
  base::Reading<std::string> hypervisor;        // "none", or its name
  base::Reading<double> usable_cpus;            // after affinity and cgroup quota
  base::Reading<std::int64_t> memory_bytes;
  base::Reading<std::int64_t> memory_available_bytes;
  base::Reading<std::int64_t> swap_bytes;
};

}  // namespace probes
