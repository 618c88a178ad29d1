// SPDX-License-Identifier: Apache-2.0
//
// rigproof rehearse: the production in real time with simulated feeds.

#include <algorithm>
#include <utility>

#include "cli/commands/run.h"
#include "cli/runs/evidence.h"
#include "cli/runs/measuring.h"
#include "cli/system/inputs.h"
#include "cli/system/pc_lock.h"
#include "cli/system/record_folder.h"
#include "cli/system/show.h"
#include "report/assess/assess.h"
#include "report/words/cautions.h"

namespace cli {
namespace {

constexpr double kQuickSearchSeconds = 20;
/// Who asks for less wants to know only whether it starts.
constexpr double kLeastForGrowth = 10;

}  // namespace

base::Result<int> RunRehearse(const Options& options) {
  auto chosen = ReadChosenProfile(options);
  if (!chosen) {
    return chosen.error();
  }
  const auto alone = PcLock::Take(options);
  if (!alone) {
    return alone.error();
  }
  Durations durations = DurationsOf(options.length, chosen->profile);
  durations.whole_s = durations.cost_s = durations.disk_s = 0;  // not a part of it
  if (options.seconds > 0) {
    durations.rehearsal_s = options.seconds;
    durations.ballast_s = std::min(durations.ballast_s, options.seconds / 2);
    if (options.seconds < kLeastForGrowth && !options.search) {
      durations.grown_flat_outs = 0;
    }
  }
  durations.search_s = options.length == Length::kQuick ? kQuickSearchSeconds : durations.search_s;
  report::Evidence evidence = StartEvidence(chosen->profile, report::kRehearsalOnly);
  evidence.command = AgainCommand(options);
  Measuring measuring(options, *std::move(chosen), ChosenRecordFolder(options), durations,
                      std::move(evidence));
  if (auto checked = measuring.CheckFolders(); !checked) {
    return checked.error();
  }
  if (auto checked = measuring.CheckInputs(); !checked) {
    return checked.error();
  }
  Caution(options, report::kLoadCautions);
  measuring.TakeInventory();
  if (auto quiet = measuring.LookForOthers(); !quiet) {
    return quiet.error();
  }
  if (auto rehearsed = measuring.Rehearse(); !rehearsed) {
    return rehearsed.error();
  }
  if (options.search) {
    measuring.MeasureRoom();
  }
  const report::Document document = measuring.Finish();
  if (auto shown = ShowDocument(document, options); !shown) {
    return shown.error();
  }
  return report::ExitStatus(document.verdict);
}

}  // namespace cli
