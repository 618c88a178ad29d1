// SPDX-License-Identifier: Apache-2.0
//
// Threads that do units of work at an asked pace until told otherwise.

#pragma once

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <functional>
#include <memory>
#include <mutex>
#include <string>
#include <thread>
#include <vector>

#include "base/result.h"
#include "bench/data/load_kind.h"

namespace bench {

/// One thread's work; made and used on that thread alone.
class BallastWork {
 public:
  virtual ~BallastWork() = default;
  /// Does one unit of a few milliseconds; the bytes that it moved, 0 where none are counted.
  virtual base::Result<std::int64_t> DoOne() = 0;
};

/// Makes the work of thread `index`.
using MakeWork = std::function<base::Result<std::unique_ptr<BallastWork>>(int index)>;

/// Its threads have the priority of the thread that makes it, and carry one name
/// with those that they start, by which their CPU time is told apart.
class PacedLoad {
 public:
  PacedLoad(LoadKind kind, int threads, MakeWork make);
  /// Ends its threads: each finishes the unit that it is at.
  ~PacedLoad();
  PacedLoad(const PacedLoad&) = delete;
  PacedLoad& operator=(const PacedLoad&) = delete;

  /// Waits until every thread has its work.
  base::Status Ready();
  /// The first `active` threads do one unit every `period_ns` each; 0: none does.
  void SetPace(std::int64_t period_ns, int active);
  int threads() const { return count_; }

  struct Done {
    std::int64_t units = 0;
    std::int64_t bytes = 0;
  };
  /// Units finished so far, all threads.
  Done done() const { return {units_, bytes_}; }
  /// CPU seconds of its threads so far.
  double CpuSeconds() const;
  /// Why a thread ended early; empty while none has.
  std::string failure() const;
  /// Waits until `units` more are done or `seconds` have passed.
  void WaitForUnits(std::int64_t units, double seconds);

 private:
  void RunOrFail(int index);
  void Run(int index);
  void Work(int index, BallastWork& work);
  /// Waits for the next unit's moment; false when the thread is to end.
  bool WaitTurn(int index, std::uint64_t& pace_seen, class DutyCycle& cycle);
  void Fail(const base::Error& error);

  const std::string kind_;
  const MakeWork make_;
  const int count_;  // of threads, once all have started
  mutable std::mutex mutex_;
  std::condition_variable changed_;
  std::condition_variable progressed_;
  std::int64_t period_ns_ = 0;
  int active_ = 0;
  std::uint64_t pace_ = 0;  // counts the calls of SetPace
  int ready_ = 0;
  bool leaving_ = false;
  base::Status made_ = base::Done{};
  std::string failure_;
  std::atomic<std::int64_t> units_{0};
  std::atomic<std::int64_t> bytes_{0};
  std::vector<std::thread> threads_;
};

}  // namespace bench
