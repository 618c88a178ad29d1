// SPDX-License-Identifier: Apache-2.0

#include "probes/cpu/hwloc_topology.h"

#include <hwloc.h>
#include <stdlib.h>

#include <algorithm>
#include <map>
#include <memory>
#include <string>
#include <tuple>
#include <type_traits>
#include <utility>

namespace probes {
namespace {

struct DestroyTopology {
  void operator()(hwloc_topology_t topology) const { hwloc_topology_destroy(topology); }
};
using TopologyHandle = std::unique_ptr<std::remove_pointer_t<hwloc_topology_t>, DestroyTopology>;

struct FreeBitmap {
  void operator()(hwloc_bitmap_t bitmap) const { hwloc_bitmap_free(bitmap); }
};
using BitmapHandle = std::unique_ptr<std::remove_pointer_t<hwloc_bitmap_t>, FreeBitmap>;

/// Null when hwloc cannot make sense of the machine.
TopologyHandle LoadTopology() {
  hwloc_topology_t raw = nullptr;
  if (hwloc_topology_init(&raw) != 0) {
    return nullptr;
  }
  TopologyHandle topology(raw);
  // CPUID would describe the machine we run on, not the one that is read; without it a PC and
  // its capture go the same way. What this process may use is a separate reading.
  hwloc_topology_set_components(raw, HWLOC_TOPOLOGY_COMPONENTS_FLAG_BLACKLIST, "x86");
  hwloc_topology_set_icache_types_filter(raw, HWLOC_TYPE_FILTER_KEEP_ALL);
  hwloc_topology_set_flags(raw, HWLOC_TOPOLOGY_FLAG_INCLUDE_DISALLOWED);
  if (hwloc_topology_load(raw) != 0) {
    return nullptr;
  }
  return topology;
}

int CountOf(hwloc_topology_t topology, hwloc_obj_type_t type) {
  return std::max(0, hwloc_get_nbobjs_by_type(topology, type));
}

std::string CacheTypeName(hwloc_obj_cache_type_t type) {
  switch (type) {
    case HWLOC_OBJ_CACHE_DATA:
      return "data";
    case HWLOC_OBJ_CACHE_INSTRUCTION:
      return "instruction";
    default:
      return "unified";
  }
}

std::vector<CpuCache> CachesOf(hwloc_topology_t topology) {
  std::map<std::tuple<int, std::string, std::int64_t>, int> counts;
  for (int type = HWLOC_OBJ_L1CACHE; type <= HWLOC_OBJ_L3ICACHE; ++type) {
    hwloc_obj_t cache = nullptr;
    while ((cache = hwloc_get_next_obj_by_type(topology, static_cast<hwloc_obj_type_t>(type),
                                               cache)) != nullptr) {
      const auto& attributes = cache->attr->cache;
      ++counts[{static_cast<int>(attributes.depth), CacheTypeName(attributes.type),
                static_cast<std::int64_t>(attributes.size)}];
    }
  }
  std::vector<CpuCache> caches;
  for (const auto& [key, count] : counts) {
    const auto& [level, type, size] = key;
    caches.push_back({level, type, size, count});
  }
  return caches;
}

/// hwloc orders kinds from the least to the most powerful, when it can tell.
std::string KindName(int index, int kinds, int efficiency) {
  if (kinds < 2 || efficiency < 0) {
    return "core";
  }
  if (index == kinds - 1) {
    return "performance";
  }
  return index == 0 ? "efficient" : "middle";
}

CpuTopology::Kind KindOf(hwloc_topology_t topology, std::string name, hwloc_const_bitmap_t cpus) {
  CpuTopology::Kind kind;
  kind.name = std::move(name);
  kind.cores = std::max(0, hwloc_get_nbobjs_inside_cpuset_by_type(topology, cpus, HWLOC_OBJ_CORE));
  for (int cpu = hwloc_bitmap_first(cpus); cpu >= 0; cpu = hwloc_bitmap_next(cpus, cpu)) {
    kind.cpus.push_back(cpu);
  }
  return kind;
}

std::vector<CpuTopology::Kind> KindsOf(hwloc_topology_t topology) {
  std::vector<CpuTopology::Kind> kinds;
  const int count = hwloc_cpukinds_get_nr(topology, 0);
  if (count < 2) {
    kinds.push_back(KindOf(topology, "core", hwloc_topology_get_topology_cpuset(topology)));
    return kinds;
  }
  for (int index = count - 1; index >= 0; --index) {
    const BitmapHandle cpus(hwloc_bitmap_alloc());
    int efficiency = -1;
    if (hwloc_cpukinds_get_info(topology, static_cast<unsigned>(index), cpus.get(), &efficiency,
                                nullptr, nullptr, 0) == 0) {
      kinds.push_back(KindOf(topology, KindName(index, count, efficiency), cpus.get()));
    }
  }
  return kinds;
}

}  // namespace

base::Result<CpuTopology> AskHwloc() {
  const TopologyHandle topology = LoadTopology();
  if (topology == nullptr) {
    return base::Error{base::ErrorKind::kMalformed, "/sys/devices/system/cpu",
                       "hwloc cannot make a topology of it"};
  }
  CpuTopology found;
  found.packages = CountOf(topology.get(), HWLOC_OBJ_PACKAGE);
  found.cores = CountOf(topology.get(), HWLOC_OBJ_CORE);
  found.threads = CountOf(topology.get(), HWLOC_OBJ_PU);
  found.numa_nodes = CountOf(topology.get(), HWLOC_OBJ_NUMANODE);
  found.kinds = KindsOf(topology.get());
  found.caches = CachesOf(topology.get());
  return found;
}

void PointHwlocAt(const std::filesystem::path& folder) {
  setenv("HWLOC_FSROOT", folder.c_str(), 1);
  setenv("HWLOC_THISSYSTEM", "0", 1);
  setenv("HWLOC_COMPONENTS", "linux,stop", 1);
  setenv("HWLOC_HIDE_ERRORS", "2", 1);
  unsetenv("HWLOC_XMLFILE");
  unsetenv("HWLOC_SYNTHETIC");
}

}  // namespace probes
