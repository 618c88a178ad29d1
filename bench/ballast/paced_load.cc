// SPDX-License-Identifier: Apache-2.0

#include "bench/ballast/paced_load.h"

#include <algorithm>
#include <chrono>
#include <exception>
#include <utility>

#include "bench/ballast/duty_cycle.h"
#include "bench/stages/run_control.h"
#include "bench/stages/stage_cpu.h"

namespace bench {
namespace {

constexpr std::string_view kBallastThread = "bal";

using SteadyClock = std::chrono::steady_clock;

std::int64_t NowNs() {
  return std::chrono::duration_cast<std::chrono::nanoseconds>(SteadyClock::now().time_since_epoch())
      .count();
}

SteadyClock::time_point At(std::int64_t ns) {
  return SteadyClock::time_point(
      std::chrono::duration_cast<SteadyClock::duration>(std::chrono::nanoseconds(ns)));
}

}  // namespace

PacedLoad::PacedLoad(LoadKind kind, int threads, MakeWork make)
    : kind_(base::WordOf(kind)), make_(std::move(make)), count_(std::max(threads, 1)) {
  try {
    for (int index = 0; index < count_; ++index) {
      threads_.emplace_back([this, index] { RunOrFail(index); });
    }
  } catch (const std::exception& failure) {  // those that did start end with this load
    Fail({base::ErrorKind::kIo, kind_, ShortageText(failure)});
  }
}

void PacedLoad::RunOrFail(int index) {
  try {
    Run(index);
  } catch (const std::exception& failure) {
    Fail({base::ErrorKind::kIo, kind_, ShortageText(failure)});
  }
}

PacedLoad::~PacedLoad() {
  {
    const std::scoped_lock lock(mutex_);
    leaving_ = true;
  }
  changed_.notify_all();
  for (std::thread& thread : threads_) {
    thread.join();
  }
}

void PacedLoad::Fail(const base::Error& error) {
  const std::scoped_lock lock(mutex_);
  if (failure_.empty()) {
    failure_ = error.where.empty() ? error.detail : error.where + ": " + error.detail;
  }
  made_ = error;
  ready_ = count_;
  progressed_.notify_all();
}

base::Status PacedLoad::Ready() {
  std::unique_lock lock(mutex_);
  progressed_.wait(lock, [this] { return ready_ >= count_; });
  return made_;
}

void PacedLoad::SetPace(std::int64_t period_ns, int active) {
  {
    const std::scoped_lock lock(mutex_);
    period_ns_ = period_ns;
    active_ = active;
    ++pace_;
  }
  changed_.notify_all();
}

bool PacedLoad::WaitTurn(int index, std::uint64_t& pace_seen, DutyCycle& cycle) {
  std::unique_lock lock(mutex_);
  for (;;) {
    if (leaving_) {
      return false;
    }
    if (pace_seen != pace_) {
      pace_seen = pace_;
      cycle.SetPeriod(index < active_ ? period_ns_ : 0, NowNs());
      if (!cycle.idle()) {
        // Not all at once: spread over one period.
        cycle.DelayFirst(period_ns_ / std::max(active_, 1) * index);
      }
    }
    if (cycle.idle()) {
      changed_.wait(lock);
    } else if (NowNs() >= cycle.NextDueNs()) {
      return true;
    } else {
      changed_.wait_until(lock, At(cycle.NextDueNs()));
    }
  }
}

void PacedLoad::Run(int index) {
  NameThread(kBallastThread, kind_);
  auto work = make_(index);
  if (!work) {
    Fail(work.error());
    return;
  }
  {
    const std::scoped_lock lock(mutex_);
    ++ready_;
  }
  progressed_.notify_all();
  Work(index, **work);
}

void PacedLoad::Work(int index, BallastWork& work) {
  DutyCycle cycle;
  std::uint64_t pace_seen = 0;
  while (WaitTurn(index, pace_seen, cycle)) {
    const std::int64_t began_ns = NowNs();
    cycle.Begin(began_ns);
    const auto bytes = work.DoOne();
    if (!bytes) {
      Fail(bytes.error());
      return;
    }
    bytes_ += *bytes;
    ++units_;
    progressed_.notify_all();
    const std::int64_t ended_ns = NowNs();
    std::this_thread::sleep_for(
        std::chrono::nanoseconds(cycle.RestNs(ended_ns - began_ns, ended_ns)));
  }
}

void PacedLoad::WaitForUnits(std::int64_t units, double seconds) {
  const std::int64_t wanted = units_ + units;
  std::unique_lock lock(mutex_);
  progressed_.wait_for(lock, std::chrono::duration<double>(seconds),
                       [&] { return units_ >= wanted || !failure_.empty(); });
}

double PacedLoad::CpuSeconds() const {
  const auto by_name = ThreadCpuSeconds();
  const auto found = by_name.find(ThreadName(kBallastThread, kind_));
  return found == by_name.end() ? 0 : found->second;
}

std::string PacedLoad::failure() const {
  const std::scoped_lock lock(mutex_);
  return failure_;
}

}  // namespace bench
