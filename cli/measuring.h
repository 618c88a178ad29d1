// SPDX-License-Identifier: Apache-2.0
//
// The measurements of rehearse and qualify, in the order in which they call them.

#pragma once

#include <filesystem>
#include <vector>

#include "base/clock.h"
#include "base/machine_root.h"
#include "base/result.h"
#include "bench/plan.h"
#include "bench/rehearsal.h"
#include "cli/inputs.h"
#include "cli/interrupt.h"
#include "cli/options.h"
#include "cli/progress.h"
#include "report/document.h"

namespace cli {

/// Wall time given to each measurement.
struct Durations {
  double cost_s = 0;  // of each stage
  double rehearsal_s = 0;
  double flat_out_s = 0;
  double disk_s = 0;
  double contention_s = 0;
  double search_s = 0;   // of each rehearsal with sources added; 0: not searched
  double ballast_s = 0;  // all kinds of extra load together
};

/// quick: a minute and a half in all on two CPUs; standard: about ten minutes;
/// full: a rehearsal as long as the production.
Durations DurationsOf(Length length, const profiles::Profile& profile);

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

  void TakeInventory();
  void MeasureCosts();
  void MeasureDisks();
  /// An Error is something of the profile that cannot run: a clip, an encoder, a folder.
  base::Status Rehearse();
  /// After a rehearsal: how much workers stand in each other's way, what
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
  std::vector<std::filesystem::path> Folders() const;
  std::vector<std::string> HostsToAsk() const;
  bool Interrupted() const { return interrupt_.Requested(); }
  void Begin(const std::string& phase, double expected_s);

  const Options& options_;
  ChosenProfile chosen_;
  std::filesystem::path record_to_;
  Durations durations_;
  report::Evidence evidence_;
  base::MachineRoot root_ = base::MachineRoot::Live();
  base::SystemClock clock_;
  Interrupt interrupt_;
  ProgressDisplay progress_;
};

}  // namespace cli
