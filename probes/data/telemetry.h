// SPDX-License-Identifier: Apache-2.0
//
// What the sampler wrote down while the PC worked.

#pragma once

#include <algorithm>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace probes {

/// One sample: means over the time since the sample before, unless told
/// otherwise. What this PC does not tell is absent.
struct TelemetrySample {
  double at_s = 0;                       // end of the time sampled, since the record's zero
  std::optional<double> busy_cpus;       // all processes, in CPUs (2.0 = two CPUs full)
  std::optional<double> own_cpus;        // this process and its children
  std::optional<double> steal_cpus;      // taken by the host
  std::optional<double> interrupt_cpus;  // serving interrupts; of busy_cpus, and nobody's program
  std::vector<int> core_busy_percent;    // of each CPU that is online, in the kernel's order
  std::optional<double> run_wait_cpus;   // our threads ready to run but not running, s per s;
                                         // time that a quota holds them back is part of it
  std::string hot_thread;                // our busiest thread; empty when not read
  double hot_thread_cpus = 0;
  std::optional<double> writers_asleep_percent;  // of our writer threads, inside a call that
                                                 // writes files, at the sample's end
  std::string top_other;                         // the busiest other process; empty when none is
  int top_other_pid = 0;
  double top_other_cpus = 0;

  std::optional<double> quota_cpus;               // tightest quota above us, at the sample's end
  std::optional<double> quota_throttled_percent;  // of the quota's periods that ran out of time
  std::optional<double> quota_held_cpus;          // time that quotas held us back, s per s

  std::optional<double> mean_mhz;
  std::optional<std::int64_t> throttle_events;  // by heat or power, added in this sample

  std::optional<double> disk_write_bytes_per_second;
  std::optional<double> disk_read_bytes_per_second;
  std::optional<double> own_disk_bytes_per_second;  // that our process had disks read or write
  std::optional<double> disk_write_ms;              // of one finished write, queueing included
  std::optional<double> disk_busy_percent;          // time with a request in flight
  std::optional<double> disk_queue;                 // requests in flight
  std::optional<double> dirty_bytes;                // waiting for writeback or in it
  std::optional<double> writeback_bytes;            // in it

  std::optional<double> cpu_pressure_percent;  // PSI "some"
  std::optional<double> io_pressure_percent;
  std::optional<double> memory_pressure_percent;

  std::optional<double> available_bytes;
  std::optional<double> major_faults_per_second;       // ours: pages that had to come from a disk
  std::optional<double> swapped_bytes_per_second;      // in and out, all processes
  std::optional<double> reclaim_stalls_per_second;     // allocations that had to free memory first
  std::optional<double> memory_limit_hits_per_second;  // of the memory groups above us
  std::optional<double> retransmits_per_second;        // TCP segments, this PC
  std::optional<double> network_drops_per_second;      // errors and drops of all links, both ways
  std::optional<double> network_bytes_per_second;      // of the busiest link, both ways
  std::optional<double> unsent_bytes;                  // in our own TCP sockets, not yet sent
  std::optional<double> receiver_limited_percent;      // time our sockets waited for a receiver
  std::optional<double> wall_clock_step_ms;            // wall clock against monotonic clock

  /// CPUs that all processes but ours used; nothing where one of the two was not read.
  std::optional<double> OtherCpus() const {
    return busy_cpus && own_cpus ? std::optional(std::max(0.0, *busy_cpus - *own_cpus))
                                 : std::nullopt;
  }
};

struct ProcessShare {
  std::string name;
  int pid = 0;
  double cpu_seconds = 0;
};

/// Bytes that a process had disks read or write.
struct ProcessBytes {
  std::string name;
  int pid = 0;
  double bytes = 0;
};

struct TelemetryRecord {
  std::int64_t zero_ns = 0;  // of the monotonic clock where `at_s` is 0
  double period_s = 0;
  double cost_cpu_seconds = 0;  // what sampling itself took
  // Nothing where the PC does not tell:
  std::optional<std::int64_t> throttle_events;    // added during the run
  std::optional<double> quota_throttled_seconds;  // time a cgroup quota held us back
  std::vector<TelemetrySample> samples;
  std::optional<double> watched_s;           // that the sums below are over
  std::optional<double> kernel_cpu_seconds;  // of the kernel's own threads, which serve everybody
  std::vector<ProcessShare> others;          // busiest other processes, at most eight
  std::optional<std::vector<ProcessBytes>> disk_others;  // at most three; nothing: not readable
  std::vector<std::string> not_read;                     // what could not be sampled, and why
  // Of these, where they are among them; files of before do not tell them apart.
  std::optional<std::string> cpu_use_not_read;
  std::optional<std::string> own_cpu_use_not_read;
};

}  // namespace probes
