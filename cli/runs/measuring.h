// SPDX-License-Identifier: Apache-2.0
//
// The measurements of rehearse and qualify, in the order in which they call them.

#pragma once

#include <filesystem>
#include <vector>

#include "base/clock.h"
#include "base/result.h"
#include "base/system/machine_root.h"
#include "bench/plan/plan.h"
#include "bench/runs/rehearsal.h"
#include "cli/options/durations.h"
#include "cli/options/options.h"
#include "cli/runs/run_time.h"
#include "cli/system/inputs.h"
#include "cli/system/interrupt.h"
#include "cli/system/progress.h"
#include "probes/sampling/telemetry_sampler.h"
#include "report/data/document.h"

namespace cli {

/// One measuring command from its caution to its document. Ctrl-C is caught
/// while this lives: what was not begun is then left out, what ran is kept.
class Measuring {
 public:
  /// `record_to` takes the recordings of outputs that name no folder.
  Measuring(const Options& options, ChosenProfile chosen, std::filesystem::path record_to,
            Durations durations, report::Evidence evidence);

  /// Every recording folder is there, can be written, and has the room that
  /// the run needs; kInvalid says which is not, and how much is needed.
  base::Status CheckFolders() const;
  /// Clips can be read, and no recording that is to be kept has its name taken.
  base::Status CheckInputs() const;

  /// How long it takes, for people.
  std::string TimeText() const;

  /// The time of a bounded run begins.
  void TakeInventory();
  /// For two seconds, what other programs take. Those that would spoil the test are named, and
  /// whoever sits at the terminal is asked; an Error is a no.
  base::Status LookForOthers();
  void MeasureCosts();
  void MeasureDisks();
  /// An Error is something of the profile that cannot run: a clip, an encoder, a folder.
  base::Status Rehearse();
  /// After a rehearsal: CPU scaling test, what
  /// hardware encoders carry, and, where a search is wanted, how many more
  /// sources are carried. What cannot run is told in the results.
  void MeasureRoom();
  /// Keeps why the rehearsal could not start as part of the result.
  void NoteNotRehearsed(const base::Error& why);

  /// Assessed; incomplete when it was interrupted.
  report::Document Finish();

 private:
  bench::PlanOptions PlanChoices() const;
  base::Result<bench::RehearsalPlan> Plan() const;
  void RunBallast(const bench::RehearsalPlan& plan, const bench::PreparedFeeds& feeds);
  void RunFlatOut(const bench::RehearsalPlan& plan, const bench::PreparedFeeds& feeds,
                  const bench::Progress& note);
  base::Result<bench::FlatOut> FlatOutWith(int added, const std::string& like,
                                           const bench::PreparedFeeds& feeds, double seconds,
                                           const bench::Progress& note);
  void RunGrownFlatOut(const bench::PreparedFeeds& feeds, const bench::Progress& note);
  void TryBallast(const bench::RehearsalPlan& plan, const bench::PreparedFeeds& feeds);
  void MeasureWorkers(const bench::RehearsalPlan& plan, int cpus);
  std::vector<std::filesystem::path> Folders() const;
  probes::TelemetryRequest Telemetry(double seconds) const;
  std::vector<std::string> HostsToAsk() const;
  bool Interrupted() const { return interrupt_.Requested(); }
  void Begin(const std::string& phase, double expected_s);

  /// Flat out, a run makes at most this many seconds of production per second.
  static constexpr double kFlatOutSpeedLimit = 10;

  const Options& options_;
  ChosenProfile chosen_;
  std::filesystem::path record_to_;
  Durations durations_;
  report::Evidence evidence_;
  base::MachineRoot root_ = base::MachineRoot::Live();
  base::SystemClock clock_;
  Interrupt interrupt_;
  ProgressDisplay progress_;
  TimeLeft left_;
};

}  // namespace cli
