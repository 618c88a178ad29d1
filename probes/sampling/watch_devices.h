// SPDX-License-Identifier: Apache-2.0
//
// Every disk and every link of the PC, one look after the other.

#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/watch_log.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/watch_texts.h"
#include "probes/sampling/telemetry_gauges.h"
#include "probes/watch_log/encoder.h"

namespace probes {

/// Whole disks and the layers upon them. Memory that plays a disk (ram, loop, zram) and drives for
/// discs are passed over.
class DiskWatch {
 public:
  DiskWatch(const base::MachineRoot& root, const Missing& missing);

  /// Null: only notes where the counters stand. New disks are put into `devices`.
  void Look(double seconds, WatchDevices& devices, WatchSample* sample);
  /// What is a disk may have changed.
  void LookAround() { known_.clear(); }

 private:
  struct Disk {
    DiskCounters last;
    bool seen = false;  // at the look before
    std::optional<std::size_t> number;
  };

  bool IsDisk(const std::string& name);

  const base::MachineRoot& root_;
  KeptFile diskstats_;
  Missing missing_;
  std::vector<DiskCounters> counters_;  // kept for its memory
  std::map<std::string, Disk, std::less<>> disks_;
  std::map<std::string, bool, std::less<>> known_;  // whether a name is a disk
};

/// Links but loopback, once anything went through them; TCP segments sent again; datagrams that
/// were not taken.
class LinkWatch {
 public:
  LinkWatch(const base::MachineRoot& root, const Missing& missing);

  void Look(double seconds, WatchDevices& devices, WatchSample* sample);
  /// From now on segments and datagrams of the network namespace that process `pid` is in; 0: ours.
  void FollowProgram(int pid);

 private:
  struct Link {
    LinkCounters first;
    LinkCounters last;
    std::optional<std::size_t> number;
  };

  void LookAtProtocols(double seconds, WatchSample* sample);

  const base::MachineRoot& root_;
  KeptFile links_text_;
  KeptFile snmp_;
  Missing missing_;
  std::vector<LinkCounters> counters_;
  std::map<std::string, Link, std::less<>> links_;
  std::optional<std::int64_t> again_;
  std::optional<std::int64_t> datagrams_;
};

}  // namespace probes
