// SPDX-License-Identifier: Apache-2.0
//
// What telemetry looks at, one gauge for each subject.

#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <string>

#include "base/system/machine_root.h"
#include "probes/data/telemetry.h"

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
  virtual void Look(double seconds, TelemetrySample* sample) = 0;
  /// Called every few seconds: for what is too slow for every sample.
  virtual void LookAround() {}
};

/// Takes what cannot be read, and why.
using Missing = std::function<void(const std::string& what, const std::string& why)>;
using GaugePtr = std::unique_ptr<Gauge>;

/// All CPUs, each CPU, steal, clock rate, throttling. The last two are read at most once a second.
/// `use_missing` takes why the use of the CPUs cannot be read, `missing` the rest.
GaugePtr MakeCpuGauge(const base::MachineRoot& root, double ticks_per_second,
                      const Missing& missing, const Missing& use_missing);
/// The quotas of the control groups above `process`: "self", or a number.
GaugePtr MakeQuotaGauge(const base::MachineRoot& root, const Missing& missing,
                        const std::string& process = "self");
/// The disk behind `folder` with what process `own_pid` takes of disks, and file
/// data that waits in memory.
GaugePtr MakeDiskGauge(const base::MachineRoot& root, const std::filesystem::path& folder,
                       int own_pid, const Missing& missing);
/// Memory left, swapping, reclaim, limits of the groups above `process`; major faults of process
/// `own_pid`.
GaugePtr MakeMemoryGauge(const base::MachineRoot& root, int own_pid, const Missing& missing,
                         const std::string& process = "self");
/// Segments sent again, losses of the links.
GaugePtr MakeNetworkGauge(const base::MachineRoot& root, const Missing& missing);
/// PSI of CPU, I/O and memory.
GaugePtr MakePressureGauge(const base::MachineRoot& root, const Missing& missing);
/// The threads of process `own_pid`; those whose name begins with
/// `writer_prefix` (unless empty) are the ones that write files.
GaugePtr MakeThreadGauge(const base::MachineRoot& root, int own_pid, std::string writer_prefix,
                         const Missing& missing);
/// The TCP sockets of the calling process.
GaugePtr MakeOwnSocketGauge();

/// What a counter added; one that runs backwards (a CPU that went offline, a
/// steal correction) added nothing.
inline double Added(std::int64_t now, std::int64_t before) {
  return now > before ? static_cast<double>(now - before) : 0.0;
}

}  // namespace probes
