// SPDX-License-Identifier: Apache-2.0
//
// Our threads: who waits for a CPU, which is the busiest, and whether writers sleep in a write.

#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>

#include "base/system/machine_root.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/process_texts.h"
#include "probes/sampling/gauges.h"

namespace probes {

class OurThreads {
 public:
  /// Those whose name begins with `writer_prefix` (unless empty) are the ones that write files.
  OurThreads(const base::MachineRoot& root, std::string writer_prefix, Missing missing);

  /// From now on those of these processes.
  void Follow(const std::set<int>& pids);
  /// `counts`: how many each process has; where that is as before, they are not listed again.
  /// Null: only notes where the counters stand.
  void Look(double seconds, const std::map<int, int>& counts, WatchSample* sample);
  /// Called about once a second: threads may name themselves after they were met.
  void LookAround();

 private:
  struct Thread {
    KeptFile schedstat;
    std::optional<ThreadTimes> times;
    double quiet_s = 0;  // since its waiting was last told
    std::string name;
    bool name_read = false;
    std::optional<KeptFile> call;  // of a writer
  };
  struct Process {
    std::map<int, Thread> threads;
    std::optional<int> counted;  // when they were listed; nothing: to be listed again
  };
  struct Sums {
    double wait_ns = 0;
    double most_ns = 0;
    int pid = 0;  // of the busiest thread
    int thread = 0;
    bool any = false;
  };

  void List(int pid, Process& process);
  void LookAtTimes(int pid, Process& process, double seconds, Sums& sums);
  const std::string& Name(int pid, int thread, Thread& known);
  std::optional<double> WritersAsleep();

  const base::MachineRoot& root_;
  std::string writer_prefix_;
  Missing missing_;
  std::map<int, Process> processes_;
  int looks_around_ = 0;
};

}  // namespace probes
