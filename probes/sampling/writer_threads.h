// SPDX-License-Identifier: Apache-2.0
//
// Threads of a program that write its files, and whether they sleep in a write.

#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string_view>
#include <utility>

#include "base/system/machine_root.h"
#include "probes/procfs/kept_file.h"
#include "probes/sampling/recording_files.h"

namespace probes {

/// The descriptor of the write in which a thread sleeps, from its /proc/PID/task/TID/syscall;
/// nothing where it sleeps in none.
std::optional<std::int64_t> AwaitedWrite(std::string_view syscall_text);

/// Which threads write is learnt from what each handed to write calls lately.
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

}  // namespace probes
