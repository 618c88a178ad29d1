// SPDX-License-Identifier: Apache-2.0
//
// Which process tree counts as the mixing program.

#pragma once

#include <optional>
#include <string>

#include "probes/procfs/process_table.h"

namespace probes {

/// By name or number as asked; else the busiest, which is not changed lightly.
class ProgramChoice {
 public:
  /// `asked`: a process's name (as the kernel keeps it, 15 bytes), its number, or empty.
  /// `own_pid` is never chosen, nor what is above it.
  ProgramChoice(const std::string& asked, int own_pid);

  /// Looks whether the program is still there, and for one where there is none. True when the
  /// choice is another one now.
  bool Look(const ProcessTable& table, bool round_ended);

  /// 0: none.
  int pid() const { return pid_; }
  const std::string& name() const { return name_; }
  bool as_asked() const { return !asked_.empty(); }

 private:
  int Asked(const ProcessTable& table) const;
  int BusiestTree(const ProcessTable& table) const;
  int Chosen(const ProcessTable& table, bool round_ended);

  std::string asked_;
  std::optional<int> asked_pid_;
  int own_pid_;
  int pid_ = 0;
  std::string name_;
  std::int64_t start_ = 0;
  int rounds_behind_ = 0;  // in which another tree was far busier
};

}  // namespace probes
