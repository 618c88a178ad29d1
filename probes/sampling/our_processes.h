// SPDX-License-Identifier: Apache-2.0
//
// The processes that count as ours, at every sample: CPU, faults, threads, control groups. For a
// rehearsal they are this process and what it started, for a watch those of the watched program.

#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>

#include "base/system/machine_root.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/process_table.h"
#include "probes/sampling/gauges.h"

namespace probes {

/// The descriptor of the write in which a thread sleeps, from its /proc/PID/task/TID/syscall;
/// nothing where it sleeps in none.
std::optional<std::int64_t> AwaitedWrite(std::string_view syscall_text);

/// Who waits for a CPU, which is the busiest, and whether writers sleep in a write.
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

/// Who is ours: a process and all below it.
struct Ours {
  int pid = 0;        // 0: none
  int helper = 0;     // ours too, what it started is not; 0: none
  bool self = false;  // `pid` is this process
};

class OurProcesses {
 public:
  /// `never`: a process that never counts as ours; 0: none. `writer_prefix`: as OurThreads takes
  /// it.
  OurProcesses(const base::MachineRoot& root, double ticks_per_second, int never,
               const std::string& writer_prefix, Missing missing);

  void Choose(const Ours& ours);
  /// Our processes as known now. Called about once a second, and after Choose.
  void LookAround(const ProcessTable& table);
  /// Null: only notes where the counters stand.
  void Look(double seconds, WatchSample* sample);

  int pid() const { return ours_.pid; }
  /// The first process and all below it, as known of late.
  const std::set<int>& tree() const { return tree_; }
  /// The busiest of them.
  const std::set<int>& busiest() const { return busiest_; }
  bool Are(int pid) const { return tree_.contains(pid) || pid == ours_.helper; }
  /// Whether any of them could be read at the last look.
  bool there() const { return there_; }

 private:
  void FollowGroups();
  void AddMember(int pid, const ProcessTable& table);
  void LookAtTicks(double seconds, WatchSample* sample);

  const base::MachineRoot& root_;
  double ticks_per_second_;
  int never_;
  Missing missing_;
  Ours ours_;
  bool noted_ = false;        // the counters' state, since Choose
  bool ticks_noted_ = false;  // of the processes, at the last look
  bool there_ = false;
  std::set<int> tree_;
  std::set<int> busiest_;
  std::map<int, KeptFile> members_;  // their stat files
  std::map<int, int> thread_counts_;
  std::int64_t last_ticks_ = 0;
  std::int64_t last_faults_ = 0;
  OurThreads threads_;
  GaugePtr groups_;          // null: none yet
  std::string groups_text_;  // the control groups that they are of
  int looks_around_ = 0;
};

}  // namespace probes
