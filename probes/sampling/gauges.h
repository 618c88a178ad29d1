// SPDX-License-Identifier: Apache-2.0
//
// What sampling looks at, one gauge for each subject.

#pragma once

#include <functional>
#include <memory>
#include <string>

#include "base/system/machine_root.h"
#include "probes/data/watch_log.h"

namespace probes {

/// Counters of one subject: what they add up between two looks goes into a sample.
class Gauge {
 public:
  Gauge() = default;
  Gauge(const Gauge&) = delete;
  Gauge& operator=(const Gauge&) = delete;
  virtual ~Gauge() = default;

  /// Notes where the counters stand, and puts what they did in the last
  /// `seconds` (above 0) into `sample`; null at the first look.
  virtual void Look(double seconds, WatchSample* sample) = 0;
  /// Called about once a second: for what is too slow for every sample.
  virtual void LookAround() {}
  /// Ours are process `pid` and those below it from now on; 0: none.
  virtual void Follow(int /*pid*/) {}
};

/// Takes what cannot be read, and why.
using Missing = std::function<void(const std::string& what, const std::string& why)>;
using GaugePtr = std::unique_ptr<Gauge>;

/// All CPUs, each CPU, steal, interrupts, clock rate, throttling; the last three at most once a
/// second. `use_missing` takes why the use of the CPUs cannot be read, `missing` the rest.
GaugePtr MakeCpuGauge(const base::MachineRoot& root, double ticks_per_second,
                      const Missing& missing, const Missing& use_missing);
/// The control groups above `process` ("self", or a number): CPU quotas, how often they hold it
/// back, and how often a limit of memory is met. Without `quotas` the latter only.
GaugePtr MakeGroupGauge(const base::MachineRoot& root, const std::string& process, bool quotas,
                        const Missing& missing);
/// Each disk and layer; memory that plays a disk (ram, loop, zram) and drives for discs are passed
/// over. New ones are put into `devices`. Unless `only` is empty, the disk or partition of that
/// name alone.
GaugePtr MakeDiskGauge(const base::MachineRoot& root, WatchDevices& devices,
                       const std::string& only, const Missing& missing);
/// What process `pid` has disks read and write.
GaugePtr MakeDiskUseGauge(const base::MachineRoot& root, int pid, const Missing& missing);
/// Memory left, file data that waits for a disk, swapping, reclaim.
GaugePtr MakeMemoryGauge(const base::MachineRoot& root, const Missing& missing);
/// Links but loopback, put into `devices` once anything went through them. TCP segments sent again
/// and datagrams that were not taken: of the network namespace that our first process is in.
GaugePtr MakeNetworkGauge(const base::MachineRoot& root, WatchDevices& devices,
                          const Missing& missing);
/// PSI of CPU, I/O and memory.
GaugePtr MakePressureGauge(const base::MachineRoot& root, const Missing& missing);
/// The TCP sockets of the calling process.
GaugePtr MakeOwnSocketGauge();

/// What a counter added; one that runs backwards (a CPU that went offline, a
/// steal correction) added nothing.
inline double Added(std::int64_t now, std::int64_t before) {
  return now > before ? static_cast<double>(now - before) : 0.0;
}

}  // namespace probes
