// SPDX-License-Identifier: Apache-2.0
//
// One sample of a watched production after the other.

#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/watch_log.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/process_table.h"
#include "probes/sampling/program_choice.h"
#include "probes/sampling/program_watch.h"
#include "probes/sampling/telemetry_gauges.h"
#include "probes/sampling/watch_devices.h"
#include "probes/sampling/watch_engines.h"

namespace probes {

struct WatchRequest {
  std::string program;  // name or number; empty: the busiest
  double hz = 10;
  double ticks_per_second = 100;
  int own_pid = 0;            // never the program
  std::int64_t start_ns = 0;  // where `at_s` counts from
};

/// What the clocks show at one moment.
struct WatchMoment {
  std::int64_t now_ns = 0;   // monotonic
  std::int64_t wall_ns = 0;  // UTC since 1970
  std::int64_t boot_ns = 0;  // as monotonic, but it goes on while the PC sleeps
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
  std::optional<WatchSample> Sample(const WatchMoment& moment);
  /// Since it was called last.
  WatchNews TakeNews();

  const WatchDevices& devices() const { return devices_; }
  const ProgramChoice& program() const { return choice_; }

 private:
  void NotRead(const std::string& what, const std::string& why);
  void LookAtClock(const WatchMoment& moment, WatchSample& sample) const;
  void LookAtOthers(double seconds, WatchSample* sample);
  void LookSlowly(const WatchMoment& moment, WatchSample* sample);
  void LookAtInterrupts(double seconds, WatchSample* sample);
  void LookAtProgramMemory(WatchSample& sample);
  void FollowProcesses(const WatchMoment& moment, const WatchSample* sample);
  void RoundEnded(double at_s);
  void FollowProgram(double at_s, bool round_ended);
  void FollowEngines();
  void ChooseClose();
  void ChooseDisk(WatchSample& sample) const;
  double At(std::int64_t now_ns) const;

  base::MachineRoot root_;
  WatchRequest request_;
  WatchDevices devices_;
  WatchNews news_;
  std::set<std::string> not_read_;  // told once
  Missing missing_;
  GaugePtr cpu_;
  GaugePtr waiting_;  // file data in memory
  GaugePtr pressure_;
  DiskWatch disks_;
  LinkWatch links_;
  EngineWatch engines_;
  ProcessTable table_;
  CloseProcesses close_;
  ProgramChoice choice_;
  ProgramWatch program_;
  KeptFile stat_;
  std::vector<std::string> frequency_files_;
  std::vector<std::int64_t> interrupts_;  // ticks of each CPU
  std::optional<WatchMoment> last_;
  std::int64_t slow_ns_ = 0;   // when the slow ones were looked at
  std::int64_t scan_ns_ = 0;   // when all processes were read at once
  std::int64_t round_ns_ = 0;  // when the last round of processes ended
  int engines_from_ = 0;
};

}  // namespace probes
