// SPDX-License-Identifier: Apache-2.0
//
// Samples of a watch that a test makes up, in grains that the file keeps exactly.

#pragma once

#include <cstdint>
#include <string>

#include "probes/data/watch_log.h"

namespace tests {

inline constexpr std::int64_t kMadeWallNs = 1'700'000'000'000'000'000;

inline probes::WatchHead MadeHead() {
  probes::WatchHead head;
  head.program_version = "0.0.0";
  head.began_at = "2023-11-14T22:13:20Z";
  head.zero_ns = 5'000'000'000;
  head.zero_wall_ns = kMadeWallNs;
  head.hz = 10;
  head.cpus = 2;
  head.ticks_per_second = 100;
  head.memory_bytes = 8e9;
  head.cpu_model = "Invented CPU";
  head.kernel = "6.1.0";
  head.virtual_pc = true;
  head.program = "mixer";
  return head;
}

inline probes::WatchDevices MadeDevices() {
  return {{{"sda", true}, {"dm-0", std::nullopt}}, {"eth0"}, {{"0000:00:02.0", "video"}}};
}

/// The k-th at ten a second, k from 1 on.
inline probes::WatchSample MadeSample(int k) {
  probes::WatchSample sample;
  sample.pc.at_s = k / 10.0;
  sample.seconds = 0.1;
  sample.wall_ns = kMadeWallNs + k * std::int64_t{100'000'000};
  sample.pc.busy_cpus = 1.5 + 0.001 * (k % 7);
  sample.pc.own_cpus = 1;
  sample.pc.core_busy_percent = {k % 101, 100 - k % 101};
  sample.pc.run_wait_cpus = k % 3 == 0 ? std::nullopt : std::optional(0.25);
  sample.pc.hot_thread = k % 2 == 0 ? "encoder" : "writer";
  sample.pc.hot_thread_cpus = 0.75;
  sample.pc.top_other = "scanner";
  sample.pc.top_other_pid = 77;
  sample.pc.top_other_cpus = 0.125;
  sample.pc.throttle_events = k;
  sample.pc.dirty_bytes = 4096.0 * k;
  sample.pc.io_pressure_percent = 12.5;
  sample.program_runs = true;
  sample.recording_disk = 1;
  sample.recording_bytes_per_second = 2'500'000;
  sample.disks = {{0, 0, 1e6 * k, std::nullopt, 2.25, 50, 1.5},
                  {1, 3e6, 0, 1.5, std::nullopt, 5, 0}};
  sample.links = {{0, 1000, 2000, 0, 0.5}};
  if (k % 10 == 0) {
    sample.engines = {{0, 62.5, 60}};
  }
  return sample;
}

}  // namespace tests
