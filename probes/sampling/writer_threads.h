// SPDX-License-Identifier: Apache-2.0
//
// Threads of a program that write its files, and whether they sleep in a write.

#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <utility>

#include "base/system/machine_root.h"
#include "probes/sampling/recording_files.h"

namespace probes {

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
  };

  void ChooseWriters();

  const base::MachineRoot& root_;
  std::map<Key, Thread> threads_;
};

}  // namespace probes
