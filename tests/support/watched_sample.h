// SPDX-License-Identifier: Apache-2.0
//
// An invented recording and the log beside it, for tests of explanations.

#pragma once

#include <functional>

#include "probes/data/watch_log.h"
#include "report/data/recording.h"
#include "report/recordings/place_recording.h"

namespace report::testing {

/// 25 frames a second for `length_s`, holes as given (beginning, pictures).
inline RecordingDocument MadeRecording(double length_s,
                                       const std::vector<std::pair<double, int>>& holes) {
  probes::Recording recording;
  recording.name = "show.mkv";
  recording.container = "matroska,webm";
  recording.bytes = 12'345'678;
  recording.length_s = length_s;
  probes::TrackTimes track;
  track.kind = probes::TrackKind::kVideo;
  track.beat = probes::Beat::kConstant;
  track.rate_numerator = 25;
  track.end_s = length_s;
  track.due = static_cast<std::int64_t>(length_s * 25);
  for (const auto& [at_s, pictures] : holes) {
    track.gaps.push_back({at_s, pictures / 25.0, pictures});
    track.missing += pictures;
    track.gap_seconds += pictures / 25.0;
    track.gap_count += 1;
    const double part = at_s / length_s * static_cast<double>(probes::kRecordingParts);
    track.missing_in_part.at(static_cast<std::size_t>(part)) += pictures;
  }
  track.present = track.due - track.missing;
  recording.tracks = {track};
  return JudgeRecording(std::move(recording));
}

using Change = std::function<void(probes::WatchSample&)>;

/// A log of `length_s` at 10 Hz on a PC of 4 CPUs at ease; recordings grow from `from_s` to `to_s`.
inline probes::WatchLog MadeLog(double length_s, double from_s, double to_s,
                                const Change& change = {}) {
  probes::WatchLog log;
  log.head.cpus = 4;
  log.head.hz = 10;
  log.ends_s = length_s;
  log.sample_seconds = 0.1;
  log.kernel_lines_read = std::int64_t{0};
  for (int i = 1; i <= static_cast<int>(length_s * 10); ++i) {
    probes::WatchSample sample;
    sample.pc.at_s = i / 10.0;
    sample.seconds = 0.1;
    const bool recorded = sample.pc.at_s > from_s && sample.pc.at_s <= to_s;
    sample.program_runs = recorded;
    sample.pc.own_cpus = recorded ? 1.4 : 0;
    sample.pc.busy_cpus = recorded ? 1.6 : 0.2;
    sample.pc.steal_cpus = 0;
    sample.pc.core_busy_percent = {40, 45, 38, 41};
    sample.pc.run_wait_cpus = 0.02;
    sample.pc.writers_asleep_percent = 0;
    sample.pc.quota_throttled_percent = 0;
    sample.pc.io_pressure_percent = 0;
    sample.pc.wall_clock_step_ms = 0;
    sample.pc.retransmits_per_second = 0;
    sample.stopped_percent = 0;
    if (recorded) {
      sample.recording_bytes_per_second = 400e3;
      sample.recording_free_bytes = 100e9;
    } else {
      sample.recording_bytes_per_second = 0;
    }
    if (change) {
      change(sample);
    }
    log.samples.push_back(sample);
  }
  return log;
}

inline LogOutline OutlineOf(const probes::WatchLog& log) {
  OutlineTaker taker;
  for (const probes::WatchSample& sample : log.samples) {
    taker.Take(sample);
  }
  return taker.Give();
}

}  // namespace report::testing
