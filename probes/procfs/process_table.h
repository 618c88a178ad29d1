// SPDX-License-Identifier: Apache-2.0
//
// All processes, looked at in slices: their CPU use, their family, the busiest of them.

#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/process_texts.h"

namespace probes {

struct KnownProcess {
  ProcessTicks latest;
  std::int64_t before = 0;   // ticks of its own when the table was begun; 0: it came later
  std::int64_t read_ns = 0;  // when
  double cpus = 0;           // between the last two times it was read
  int idle_reads = 0;        // in a row, in which it had used nothing
};

/// A look at one process costs about as much as one at a disk: few are read at a time, and those
/// that do nothing in one round of four only.
class ProcessTable {
 public:
  ProcessTable(const base::MachineRoot& root, double ticks_per_second);

  /// Notes who came and who went; within five seconds only where somebody came. Those that came are
  /// read, at most `most_fresh` now; the first time all are.
  void List(std::int64_t now_ns, std::size_t most_fresh);
  /// One that matters went: the next list is a whole one.
  void ListWhole() { newest_.reset(); }
  /// Turns to the next `count` processes; true when that ended a round.
  bool ReadSome(std::int64_t now_ns, std::size_t count);
  void ReadAll(std::int64_t now_ns);

  const std::map<int, KnownProcess>& all() const { return processes_; }
  /// The process and all below it.
  std::set<int> Tree(int pid) const;
  /// The busiest first; those without any use are left out.
  std::vector<int> Busiest(std::size_t most) const;
  /// Whether it is a thread of the kernel.
  bool OfKernel(const ProcessTicks& process) const;
  /// Called with processes that are gone.
  void OnGone(std::function<void(const KnownProcess&)> gone) { gone_ = std::move(gone); }

 private:
  bool AnybodyCame(std::int64_t now_ns);
  void DropGone(const std::vector<int>& there);
  void Read(int pid, std::int64_t now_ns);

  const base::MachineRoot& root_;
  double ticks_per_second_;
  std::map<int, KnownProcess> processes_;
  std::set<int> unread_;
  KeptFile loadavg_;
  std::optional<std::int64_t> newest_;  // number, at the last list
  std::int64_t listed_ns_ = 0;
  bool begun_ = false;
  int next_ = 0;  // of the round
  int round_ = 0;
  std::function<void(const KnownProcess&)> gone_;
};

/// Some processes, read at every sample.
class CloseProcesses {
 public:
  explicit CloseProcesses(const base::MachineRoot& root) : root_(root) {}

  /// From now on.
  void Choose(const std::vector<int>& pids);

  struct Use {
    int pid = 0;
    std::string name;
    std::int64_t ticks = 0;      // since the last call
    std::int64_t all_ticks = 0;  // of all that are watched
  };
  /// That which used most since the last call; nothing when none used any.
  std::optional<Use> Busiest();

 private:
  struct Close {
    KeptFile stat;
    std::optional<ProcessTicks> last;
  };

  const base::MachineRoot& root_;
  std::map<int, Close> close_;
};

}  // namespace probes
