// SPDX-License-Identifier: Apache-2.0

#include "bench/ballast/run.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <condition_variable>
#include <exception>
#include <limits>
#include <mutex>
#include <thread>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "bench/ballast/duty_cycle.h"
#include "bench/ballast/kinds.h"
#include "bench/ballast/search.h"
#include "bench/ballast/verdict.h"
#include "bench/feeds/prepared_feeds.h"
#include "bench/pipeline/pipeline.h"
#include "bench/plan/plan.h"
#include "bench/runs/run_watch.h"
#include "bench/stages/stage_cpu.h"

namespace bench {
namespace {

using namespace std::chrono_literals;

constexpr std::int64_t kLeadInNs = 200'000'000;
constexpr double kLookSeconds = 0.05;
/// Encoders lose a few frames while they start.
constexpr double kWarmUpSeconds = 2;
/// A hold after one that dropped begins once the queues are as empty as before.
constexpr double kLongestRecoverySeconds = 1;
constexpr const char* kOver = "the search is over";

/// How long each part of a search takes.
struct Timing {
  double hold_s;
  double settle_s;
  int confirmations;
  double resolution;  // of what arithmetic says there is
};

Timing TimingFor(double seconds) {
  if (seconds < 60) {
    return {1.2, 0.3, 1, 0.06};
  }
  return {4, 1, 2, 0.025};
}

/// Searches beside a running pipeline, on a thread of its own.
class BallastRunner {
 public:
  BallastRunner(Pipeline& pipeline, RunControl& control, base::Clock& clock,
                const BallastOptions& options, const BallastNote& note, std::int64_t began_ns)
      : pipeline_(pipeline),
        control_(control),
        clock_(clock),
        options_(options),
        note_(note),
        timing_(TimingFor(options.seconds)),
        began_ns_(began_ns) {
    control_.OnStop([this] { stopped_.notify_all(); });
  }

  void Run(std::vector<BallastKind>& kinds);

 private:
  double Now() const { return static_cast<double>(clock_.NowNs() - began_ns_) / 1e9; }
  /// False when the run was stopped.
  bool Wait(double seconds);
  double Backlog() const;
  void Recover();
  /// `kind` null: the production by itself.
  BallastStep Hold(BallastKind* kind, double level, double seconds);
  void MeasurePlain();
  BallastSearchRule RuleFor(const BallastKind& kind) const;
  void Search(BallastKind& kind, double until_s);

  Pipeline& pipeline_;
  RunControl& control_;
  base::Clock& clock_;
  const BallastOptions& options_;
  const BallastNote& note_;
  const Timing timing_;
  const std::int64_t began_ns_;
  std::mutex mutex_;
  std::condition_variable stopped_;
  std::vector<double> plain_late_shares_;
  BallastStep plain_;
  double plain_backlog_ = 0;
  double carried_cpus_ = -1;  // found by the search on the CPU
};

bool BallastRunner::Wait(double seconds) {
  std::unique_lock lock(mutex_);
  stopped_.wait_for(lock, std::chrono::duration<double>(seconds),
                    [this] { return control_.stopped(); });
  return !control_.stopped();
}

double BallastRunner::Backlog() const {
  double frames = 0;
  for (const Ledger::Totals& totals : pipeline_.TotalsNow()) {
    frames += static_cast<double>(totals.due - totals.delivered - totals.dropped);
  }
  return frames;
}

void BallastRunner::Recover() {
  const double latest = Now() + kLongestRecoverySeconds;
  while (Now() < latest && Backlog() > plain_backlog_ + 1 && Wait(kLookSeconds)) {
  }
}

BallastStep BallastRunner::Hold(BallastKind* kind, double level, double seconds) {
  BallastStep step;
  step.asked = level;
  if (kind != nullptr) {
    kind->load->SetPace(PeriodNs(level, kind->unit_cost, kind->threads), kind->threads);
    Wait(timing_.settle_s);
  }
  const auto ballast_cpu = [&] { return kind != nullptr ? kind->load->CpuSeconds() : 0; };
  const auto ballast_done = [&] {
    return kind != nullptr ? kind->load->done() : PacedLoad::Done{};
  };
  const double ballast_before = ballast_cpu();
  const double process_before = ProcessCpuSeconds();
  const PacedLoad::Done done_before = ballast_done();
  step.at_s = Now();
  HoldAccount account;
  account.Look(pipeline_.TotalsNow());
  while (Now() - step.at_s < seconds && account.dropped() == 0 && Wait(kLookSeconds)) {
    account.Look(pipeline_.TotalsNow());
  }
  step.seconds = std::max(Now() - step.at_s, 1e-3);
  const PacedLoad::Done done = ballast_done();
  const double ballast = ballast_cpu() - ballast_before;
  step.ballast_cpus = ballast / step.seconds;
  step.production_cpus =
      std::max(0.0, ProcessCpuSeconds() - process_before - ballast) / step.seconds;
  step.used = kind != nullptr && !kind->by_cpu
                  ? static_cast<double>(done.bytes - done_before.bytes) / step.seconds
                  : step.ballast_cpus;
  if (kind != nullptr) {
    kind->load->SetPace(0, 0);
    const auto units = static_cast<double>(done.units - done_before.units);
    if (kind->by_cpu && units > 0 && ballast > 0) {
      kind->unit_cost = kind->cpu_cost = ballast / units;
    }
  }
  const auto outputs = account.Outputs();
  step.dropped = account.dropped();
  step.late = account.late();
  if (kind == nullptr) {
    plain_late_shares_ = LateShares(outputs);
    plain_backlog_ = Backlog();
  }
  step.carried = Carried(outputs, plain_late_shares_);
  return step;
}

void BallastRunner::MeasurePlain() {
  note_("the production by itself");
  if (!Wait(kWarmUpSeconds)) {
    return;
  }
  plain_ = Hold(nullptr, 0, 2 * timing_.hold_s);
  if (!plain_.carried) {  // once may be chance
    plain_ = Hold(nullptr, 0, 2 * timing_.hold_s);
  }
}

/// Where the search of a kind may go. CPU: around what arithmetic leaves. Disk:
/// what it sustains, less what is used. Memory: what copies reach on the CPUs
/// that are left, since they run out with them.
BallastSearchRule BallastRunner::RuleFor(const BallastKind& kind) const {
  // Nothing measured the disk before: more than one takes, which the first hold finds out.
  constexpr double kFastDisk = 8e9;
  constexpr double kMostOfSpare = 0.9;
  constexpr double kGuess = 0.85;
  BallastSearchRule rule;
  rule.confirmations = timing_.confirmations;
  const double spare = SpareCpus(options_);
  if (kind.by_cpu) {
    rule.most = std::clamp(std::max(1.1 * spare, options_.usable_cpus - 0.7 * options_.own_cpus),
                           0.05 * options_.usable_cpus, options_.usable_cpus);
    rule.first_guess = kGuess * spare;
    rule.resolution = timing_.resolution * options_.usable_cpus;
    // Short of what was asked, it still presses on the production: for its share of the CPUs.
    rule.saturates = false;
    return rule;
  }
  if (kind.run.kind == LoadKind::kDisk) {
    const auto place = std::find_if(
        options_.disks.begin(), options_.disks.end(),
        [&](const BallastDisk& disk) { return disk.folder.string() == kind.run.item; });
    const double sustained = place->sustained_bytes_per_second;
    rule.most = sustained > 0 ? std::max(sustained - place->own_bytes_per_second, sustained / 20)
                              : kFastDisk;
  } else {
    const double cpus = std::max(0.05, kMostOfSpare * (carried_cpus_ >= 0 ? carried_cpus_ : spare));
    rule.most = cpus / std::max(kind.CpusAt(1), 1e-15);
  }
  rule.first_guess = rule.most;
  rule.resolution = 2 * timing_.resolution * rule.most;
  return rule;
}

std::string LevelText(const BallastKind& kind, double level) {
  return kind.by_cpu ? fmt::format("cpu: {:.2f} CPUs more", level)
                     : fmt::format("{}: {} more", base::WordOf(kind.run.kind),
                                   base::FormatBytesPerSecond(level));
}

/// Mean of what the holds of one level used; the level itself where none asked for it.
double UsedAt(const std::vector<BallastStep>& steps, double level, bool carried) {
  constexpr double kSame = 1e-6;
  double sum = 0;
  int holds = 0;
  for (const BallastStep& step : steps) {
    if (step.carried == carried && std::abs(step.asked - level) <= kSame * level) {
      sum += step.used;
      ++holds;
    }
  }
  return holds > 0 ? sum / holds : level;
}

/// The carried end is what was used. At the other end the load starved together
/// with the production: there it is at least what was asked for.
void Settle(BallastRun& run, const BallastSearch& search) {
  run.carried_holds = search.carried_holds();
  run.dropped_holds = search.dropped_holds();
  if (const auto level = search.carried()) {
    run.carried = UsedAt(run.steps, *level, true);
  }
  if (const auto level = search.dropped_at()) {
    run.dropped_at = std::max({UsedAt(run.steps, *level, false), *level, run.carried.value_or(0)});
  }
}

void BallastRunner::Search(BallastKind& kind, double until_s) {
  BallastSearch search(RuleFor(kind));
  const double began_s = Now();
  const double one_hold_s = timing_.settle_s + timing_.hold_s;
  std::string stopped;
  while (const auto level = search.Next()) {
    if (Now() + one_hold_s > until_s) {
      stopped = "its time was over before both ends were near and confirmed";
      break;
    }
    note_(LevelText(kind, *level));
    BallastStep step = Hold(&kind, *level, timing_.hold_s);
    if (control_.stopped()) {
      stopped = control_.reason();
      break;
    }
    if (const std::string failure = kind.load->failure(); !failure.empty()) {
      stopped = failure;
      break;
    }
    kind.run.steps.push_back(step);
    search.Took(*level, step.used, step.carried);
    if (!step.carried) {
      Recover();
    }
  }
  kind.run.seconds = Now() - began_s;
  kind.run.complete = stopped.empty() && search.complete();
  kind.run.stopped_because =
      kind.run.complete || !stopped.empty() ? stopped : "the holds did not agree";
  Settle(kind.run, search);
}

void BallastRunner::Run(std::vector<BallastKind>& kinds) {
  MeasurePlain();
  const double end_s = Now() + options_.seconds - kWarmUpSeconds - 2 * timing_.hold_s;
  for (BallastKind& kind : kinds) {
    kind.run.steps.insert(kind.run.steps.begin(), plain_);
    if (!kind.load) {
      continue;
    }
    if (control_.stopped()) {
      kind.run.stopped_because = control_.reason();
    } else if (!plain_.carried) {
      kind.run.stopped_because = "frames were dropped without any extra load";
    } else {
      if (kind.by_cpu && kind.run.own_use <= 0) {
        kind.run.own_use = plain_.production_cpus;
      }
      Search(kind, Now() + kind.share * std::max(0.0, end_s - Now()));
      if (kind.by_cpu && kind.run.carried) {
        carried_cpus_ = *kind.run.carried;
      }
    }
  }
  control_.Stop({StopPart::kPlan, "", kOver});
}

void RunOrStop(BallastRunner& runner, std::vector<BallastKind>& kinds, RunControl& control) {
  try {
    runner.Run(kinds);
  } catch (const std::exception& failure) {
    control.Stop(ShortageText(failure));
  }
}

/// Kinds that the search never came to say why.
std::vector<BallastRun> TakeRuns(std::vector<BallastKind>& kinds, const std::string& reason) {
  std::vector<BallastRun> runs;
  runs.reserve(kinds.size());
  for (BallastKind& kind : kinds) {
    if (!kind.run.complete && kind.run.stopped_because.empty()) {
      kind.run.stopped_because = reason;
    }
    runs.push_back(std::move(kind.run));
  }
  return runs;
}

}  // namespace

base::Result<std::vector<BallastRun>> RunBallast(const RehearsalPlan& asked,
                                                 const PreparedFeeds& feeds,
                                                 const BallastOptions& options, base::Clock& clock,
                                                 const std::stop_token& stop,
                                                 const BallastNote& note) {
  const std::int64_t began_ns = clock.NowNs();
  const RehearsalPlan plan = ThrowawayPlan(asked, "ballast-");
  RealTimePacer pacer(clock);
  RunControl control;
  Pipeline pipeline(plan, feeds.rings, pacer, control);
  const StopOnRequest stop_on_request(stop, control);
  const RoomGuard guard(plan);
  // Before the pipeline opens: its threads would be counted with those of the load.
  std::vector<BallastKind> kinds = MakeBallastKinds(plan, options);
  if (auto opened = OpenOrEnd(pipeline, control); !opened) {
    if (!stop.stop_requested()) {
      return opened.error();
    }
    return std::vector<BallastRun>{};
  }
  BallastRunner runner(pipeline, control, clock, options, note, began_ns);
  pacer.Begin(clock.NowNs() + kLeadInNs);
  pipeline.Start(std::numeric_limits<std::int64_t>::max() / 4);
  std::jthread search;
  try {
    search = std::jthread([&] { RunOrStop(runner, kinds, control); });
  } catch (const std::exception& failure) {  // the pipeline must not outlive what it calls
    control.Stop(ShortageText(failure));
  }
  Watch(pipeline, control).Run([&]() -> std::chrono::nanoseconds {
    guard.Check(control);
    return 200ms;
  });
  if (search.joinable()) {
    search.join();
  }
  pipeline.CloseAccounts();
  return TakeRuns(kinds, control.reason());
}

}  // namespace bench
