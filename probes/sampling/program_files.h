// SPDX-License-Identifier: Apache-2.0
//
// What a watched program does with its files and sockets: how they grow, whether its writers wait
// for a disk, the room that is left, data that was not sent yet.

#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <utility>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/watch_log.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/socket_queues.h"
#include "probes/sampling/gauges.h"
#include "probes/sampling/recording_files.h"
#include "probes/storage/free_space.h"

namespace probes {

/// Threads of a program that write its files, and whether they sleep in a write. Which threads
/// write is learnt from what each handed to write calls lately.
class WriterThreads {
 public:
  explicit WriterThreads(const base::MachineRoot& root) : root_(root) {}

  /// Every few seconds. False when the kernel lets us see none of the threads' counts.
  bool Find(const std::set<int>& pids);

  /// Share of the writers that sleep in a call on one of `files` now; nothing without writers.
  std::optional<double> AsleepPercent(const RecordingFiles& files);

 private:
  using Key = std::pair<int, int>;  // process, thread

  struct Thread {
    std::int64_t written = 0;
    std::int64_t lately = 0;  // in the last look
    int quiet_looks = 0;      // since it wrote anything
    bool writes = false;
    std::optional<KeptFile> call;  // of one that writes
  };

  void ChooseWriters();

  const base::MachineRoot& root_;
  std::map<Key, Thread> threads_;
};

class ProgramFiles {
 public:
  ProgramFiles(const base::MachineRoot& root, Missing missing);

  /// Another program; 0: none.
  void Choose(int pid);
  /// `busiest`: the processes that are looked into. Called about once a second.
  void LookAround(const std::set<int>& busiest);
  /// Null: only notes where the counters stand.
  void Look(double seconds, const WatchDevices& devices, WatchSample* sample);
  /// What is looked at once a second only.
  void LookSlowly(WatchSample& sample);

 private:
  void FindConnections();

  const base::MachineRoot& root_;
  Missing missing_;
  int pid_ = 0;
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
