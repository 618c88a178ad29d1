// SPDX-License-Identifier: Apache-2.0
//
// The watched program at every sample: CPU, waiting, threads, memory, files.

#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <memory>
#include <set>
#include <string>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/watch_log.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/process_table.h"
#include "probes/procfs/socket_queues.h"
#include "probes/sampling/recording_files.h"
#include "probes/sampling/telemetry_gauges.h"
#include "probes/sampling/writer_threads.h"
#include "probes/storage/free_space.h"

namespace probes {

class ProgramWatch {
 public:
  /// `own_pid` never counts as a part of it.
  ProgramWatch(const base::MachineRoot& root, double ticks_per_second, int own_pid,
               Missing missing);

  /// Another program; 0: none.
  void Choose(int pid);
  /// Its processes as known now. Called about once a second, and after Choose.
  void LookAround(const ProcessTable& table);
  /// Null: only notes where the counters stand.
  void Look(double seconds, const WatchDevices& devices, WatchSample* sample);

  /// What is looked at once a second only.
  void LookSlowly(WatchSample& sample);

  int pid() const { return pid_; }
  const std::set<int>& tree() const { return tree_; }

 private:
  void LookAtTicks(double seconds, WatchSample* sample);
  void LookAtThreads(double seconds, WatchSample* sample);
  void LookAtFiles(double seconds, const WatchDevices& devices, WatchSample* sample);
  void FindFiles();
  void FindConnections();
  void LookAtConnections(WatchSample* sample);
  void FollowGroups();

  const base::MachineRoot& root_;
  double ticks_per_second_;
  int own_pid_;
  Missing missing_;
  int pid_ = 0;
  bool noted_ = false;  // the counters' state, since Choose
  std::set<int> tree_;
  std::map<int, KeptFile> members_;  // their stat files
  std::int64_t last_ticks_ = 0;
  std::int64_t last_faults_ = 0;
  std::map<int, GaugePtr> threads_;  // of the busiest processes
  std::vector<GaugePtr> gauges_;     // quota, memory
  std::string groups_text_;          // the control groups that they are of
  RecordingFiles files_;
  WriterThreads writers_;
  FreeSpace space_;
  int looks_around_ = 0;
  std::unique_ptr<SocketQueues> queues_;  // null: the kernel's list of sockets is read instead
  std::set<std::int64_t> listed_;         // sockets of which the connections are known
  std::vector<TcpEnds> connections_;
  int lists_kept_ = 0;
  int sockets_rest_ = 0;  // looks to leave out: that list may be long
};

}  // namespace probes
