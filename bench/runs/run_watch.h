// SPDX-License-Identifier: Apache-2.0
//
// What every run of a pipeline needs around it: an end on request, a look now and then, room on
// its disks.

#pragma once

#include <chrono>
#include <condition_variable>
#include <filesystem>
#include <functional>
#include <mutex>
#include <set>
#include <stop_token>

#include "base/result.h"
#include "bench/pipeline/pipeline.h"
#include "bench/plan/plan.h"
#include "bench/stages/run_control.h"

namespace bench {

/// Ends the run on request for as long as it lives; opening may take its time too.
class StopOnRequest {
 public:
  StopOnRequest(const std::stop_token& stop, RunControl& control)
      : callback_(stop, [&control] { control.Stop("interrupted"); }) {}

 private:
  std::stop_callback<std::function<void()>> callback_;
};

/// Takes a pipeline through its run while the calling thread looks at it now and then.
class Watch {
 public:
  Watch(Pipeline& pipeline, RunControl& control) : pipeline_(pipeline), control_(control) {}

  /// Runs `look` at once and after each wait it asks for, until all is through.
  /// One that throws ends the run.
  void Run(const std::function<std::chrono::nanoseconds()>& look);

 private:
  std::chrono::nanoseconds Looked(const std::function<std::chrono::nanoseconds()>& look);

  Pipeline& pipeline_;
  RunControl& control_;
  std::mutex mutex_;
  std::condition_variable changed_;
  bool through_ = false;
};

/// Watches that recordings never fill a disk beyond what must stay free.
class RoomGuard {
 public:
  explicit RoomGuard(const RehearsalPlan& plan);
  /// Ends the run when a disk has no more room.
  void Check(RunControl& control) const;

 private:
  std::set<std::filesystem::path> folders_;
};

/// Opens, or ends what was opened and says why it failed.
base::Status OpenOrEnd(Pipeline& pipeline, RunControl& control);

}  // namespace bench
