// SPDX-License-Identifier: Apache-2.0
//
// Packages, cores, threads, kinds of core and caches, as hwloc sees them.

#pragma once

#include <string>
#include <vector>

#include "base/result.h"
#include "base/system/machine_root.h"
#include "probes/data/cpu.h"

namespace probes {

struct CpuTopology {
  struct Kind {
    std::string name;  // "performance", "middle", "efficient" or "core"
    int cores = 0;
    std::vector<int> cpus;  // the kernel's numbers
  };

  int packages = 0;  // 0: the machine does not say
  int cores = 0;
  int threads = 0;
  int numa_nodes = 0;
  std::vector<Kind> kinds;
  std::vector<CpuCache> caches;
};

/// Processors that are online, whether or not this process may use them. A captured machine's
/// lists are looked at before hwloc sees them, and then it reads them in a program of its own,
/// which may take a few seconds at most.
base::Result<CpuTopology> ReadCpuTopology(const base::MachineRoot& root);

/// "0-3,8": the kernel's list of processors, in order. kMalformed for anything
/// else, and for a number above 65535.
base::Result<std::vector<int>> ParseCpuList(std::string_view text);

}  // namespace probes
