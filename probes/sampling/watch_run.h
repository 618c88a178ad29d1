// SPDX-License-Identifier: Apache-2.0
//
// A thread that watches a production and writes its log.

#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <thread>
#include <vector>

#include "base/clock.h"
#include "base/result.h"
#include "base/system/machine_root.h"
#include "probes/data/watch_log.h"
#include "probes/line/kernel_log.h"
#include "probes/sampling/watch_collector.h"
#include "probes/watch_log/writer.h"

namespace probes {

struct WatchRunRequest {
  std::filesystem::path into;
  std::string program;  // name or number; empty: the busiest
  double hz = 10;       // clamped to 1..20
  WatchLogLimits limits;
  std::string program_version;
};

/// Where a watch stands; told anew every second.
struct WatchState {
  WatchHead head;
  WatchDevices devices;
  WatchSample second;   // mean of the last second
  std::string program;  // empty: none yet
  int program_pid = 0;
  bool program_as_asked = false;
  std::string program_before;  // the last one, when it has ended; empty: there was none
  std::int64_t samples = 0;
  std::int64_t log_bytes = 0;
  std::int64_t seconds_lost = 0;  // that the log's disk did not take
  base::Reading<std::int64_t> kernel_lines;
  std::map<std::string, std::int64_t> kernel_causes;  // lines of known signatures, by cause
  std::vector<std::string> not_read;                  // "what: why"
  std::optional<base::Error> failure;                 // why nothing more is written
};

class WatchRun {
 public:
  /// Begins at once; an error when the log cannot be begun. `root` is copied; `clock` must outlive
  /// the run and really wait.
  static base::Result<std::unique_ptr<WatchRun>> Start(const base::MachineRoot& root,
                                                       const WatchRunRequest& request,
                                                       base::Clock& clock);
  ~WatchRun() { Stop(); }
  WatchRun(const WatchRun&) = delete;
  WatchRun& operator=(const WatchRun&) = delete;

  /// Never null.
  std::shared_ptr<const WatchState> State() const;
  /// Ends the thread, within 120 ms and a sample, and the log.
  void Stop();

 private:
  WatchRun(const base::MachineRoot& root, const WatchRequest& request, WatchHead head,
           std::unique_ptr<WatchLogWriter> writer, base::Clock& clock);

  void Run(const std::stop_token& stop);
  void Sample();
  void WriteNews();
  void TakeKernelLines(double at_s);
  void Tell(double at_s);

  base::Clock& clock_;
  WatchHead head_;
  std::unique_ptr<WatchLogWriter> writer_;
  WatchCollector collector_;
  KernelLogTail kernel_;
  std::optional<WatchSample> second_;  // put together so far
  std::int64_t samples_ = 0;
  double told_s_ = 0;
  double kernel_zero_s_ = 0;           // of the kernel tail, in the log's time
  double kernel_taken_s_ = 0;          // up to here the kernel's lines are known
  std::map<std::string, int> lately_;  // lines written in this stretch, by meaning
  double stretch_s_ = 0;
  std::map<std::string, std::int64_t> causes_;
  std::vector<std::string> not_read_;
  double last_at_s_ = 0;
  std::optional<base::Error> failure_;  // of the thread

  mutable std::mutex mutex_;
  std::shared_ptr<const WatchState> state_;
  std::jthread thread_;
};

}  // namespace probes
