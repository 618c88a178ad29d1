// SPDX-License-Identifier: Apache-2.0
//
// One sample of a watched production after the other.

#pragma once

#include <cstdint>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/watch_log.h"
#include "probes/sampling/program_choice.h"
#include "probes/sampling/program_files.h"
#include "probes/sampling/sampler.h"
#include "probes/sampling/watch_engines.h"

namespace probes {

struct WatchRequest {
  std::string program;  // name or number; empty: the busiest
  double hz = 10;
  double ticks_per_second = 100;
  int own_pid = 0;            // never the program
  std::int64_t start_ns = 0;  // where `at_s` counts from
};

/// What there is to write down beside samples; empty when nothing is.
struct WatchNews {
  std::vector<WatchProgram> programs;
  std::vector<WatchProcesses> processes;
  std::vector<std::string> not_read;
};

/// Not a thread: the caller says when. Needs no privileges; what it may not read it tells.
class WatchCollector {
 public:
  WatchCollector(const base::MachineRoot& root, const WatchRequest& request);
  WatchCollector(const WatchCollector&) = delete;
  WatchCollector& operator=(const WatchCollector&) = delete;

  /// Nothing at the first call, which only notes where the counters stand.
  std::optional<WatchSample> Sample(const TimeMoment& moment);
  /// Since it was called last.
  WatchNews TakeNews();

  const WatchDevices& devices() const { return sampler_.devices(); }
  const ProgramChoice& program() const { return choice_; }

 private:
  void NotRead(const std::string& what, const std::string& why);
  void LookSlowly(double seconds, WatchSample* sample);
  void RoundEnded(double at_s);
  void FollowProgram(double at_s, bool round_ended);
  void FollowEngines();

  WatchRequest request_;
  WatchNews news_;
  std::set<std::string> not_read_;  // told once
  Missing missing_;
  Sampler sampler_;
  EngineWatch engines_;
  ProgramChoice choice_;
  ProgramFiles files_;
  double slow_s_ = 0;   // when the slow ones were looked at, as `at_s`
  double round_s_ = 0;  // when the last round of processes ended
  int engines_from_ = 0;
};

}  // namespace probes
