// SPDX-License-Identifier: Apache-2.0
//
// The processes that count as ours, at every sample: CPU, faults, threads, control groups. For a
// rehearsal they are this process and what it started, for a watch those of the watched program.

#pragma once

#include <cstdint>
#include <map>
#include <set>
#include <string>

#include "base/system/machine_root.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/process_table.h"
#include "probes/sampling/gauges.h"
#include "probes/sampling/our_threads.h"

namespace probes {

/// Who is ours: a process and all below it.
struct Ours {
  int pid = 0;        // 0: none
  int helper = 0;     // ours too, what it started is not; 0: none
  bool self = false;  // `pid` is this process
};

class OurProcesses {
 public:
  /// `never` and `writer_prefix` (of OurThreads): a process that never counts as ours, 0: none.
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
