// SPDX-License-Identifier: Apache-2.0
//
// The one sampler: what the PC does and what of it is ours, for a rehearsal's telemetry and a
// watch.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/watch_log.h"
#include "probes/procfs/process_table.h"
#include "probes/sampling/beat.h"
#include "probes/sampling/gauges.h"
#include "probes/sampling/our_processes.h"

namespace probes {

enum class Disks {
  kAll,
  kOne,  // that is named, or none
};

struct SamplerRequest {
  double ticks_per_second = 100;
  std::int64_t start_ns = 0;  // where `at_s` counts from
  Ours ours;                  // at first
  int never = 0;              // a process that is neither ours nor one of the others
  std::string writer_prefix;  // names of our threads that write files begin with it; empty: none
  std::int64_t scan_again_ns = 2'000'000'000;  // before all are read at once again
  Disks disks = Disks::kAll;
  std::string disk;
};

/// Not a thread: the caller says when. Needs no privileges; what it may not read it tells.
class Sampler {
 public:
  /// `use_missing` takes why the use of the CPUs cannot be read, `missing` the rest.
  Sampler(const base::MachineRoot& root, const SamplerRequest& request, const Missing& missing,
          const Missing& use_missing);
  Sampler(const Sampler&) = delete;
  Sampler& operator=(const Sampler&) = delete;

  /// Another gauge, looked at after the others.
  void Add(GaugePtr gauge) { gauges_.push_back(std::move(gauge)); }
  /// From now on these are ours.
  void Follow(const Ours& ours);

  /// Whether any time has passed since the last look.
  bool Passed(const TimeMoment& moment) const { return !last_ || moment.now_ns > last_->now_ns; }
  /// Puts what the counters did since the last look into `sample`; null at the first look, which
  /// only notes where they stand.
  WatchSample* Look(const TimeMoment& moment, WatchSample& sample);
  /// About once a second: who is there, and what moves slowly. True when it was time to.
  bool LookAround(const TimeMoment& moment);
  /// Turns to some more processes; true when each was turned to once. `sample`: of this moment.
  bool FollowProcesses(const TimeMoment& moment, const WatchSample& sample);

  /// All processes, at once.
  void ReadProcesses(std::int64_t now_ns);

  double At(std::int64_t now_ns) const;
  /// That one is looked at; empty: all are, or none.
  const std::string& disk() const { return request_.disk; }
  const base::MachineRoot& root() const { return root_; }
  const OurProcesses& ours() const { return ours_; }
  ProcessTable& table() { return table_; }
  const ProcessTable& table() const { return table_; }
  WatchDevices& devices() { return devices_; }
  const WatchDevices& devices() const { return devices_; }

 private:
  void LookAtClock(const TimeMoment& moment, WatchSample& sample) const;
  void LookAtOthers(double seconds, WatchSample* sample);
  void ChooseClose();
  bool TimeToScan(const TimeMoment& moment, const WatchSample& sample);

  base::MachineRoot root_;
  SamplerRequest request_;
  WatchDevices devices_;
  OurProcesses ours_;
  std::vector<GaugePtr> gauges_;
  ProcessTable table_;
  CloseProcesses close_;
  double close_cpus_ = 0;  // that they used lately, all together
  std::optional<TimeMoment> last_;
  double seconds_ = 0;             // of the last sample
  std::int64_t slow_ns_ = 0;       // when the slow ones were looked at
  std::int64_t scan_ns_ = 0;       // when all processes were read at once
  std::int64_t scan_wait_ns_ = 0;  // until the next time at least
  double quiet_s_ = 0;             // since others did more than the known ones
};

/// Puts one of the sample's disks into `disk_*` of `pc`: that which the recordings are on, else the
/// one that was written most, else the first.
void ChooseDisk(WatchSample& sample);

}  // namespace probes
