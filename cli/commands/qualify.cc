// SPDX-License-Identifier: Apache-2.0
//
// rigproof qualify: everything that can be measured, the verdict, and the report.

#include <filesystem>
#include <system_error>
#include <utility>

#include "cli/commands/run.h"
#include "cli/runs/evidence.h"
#include "cli/runs/measuring.h"
#include "cli/system/inputs.h"
#include "cli/system/pc_lock.h"
#include "cli/system/result_files.h"
#include "cli/system/show.h"
#include "cli/system/write_file.h"
#include "report/assess/assess.h"
#include "report/words/cautions.h"

namespace cli {
base::Result<int> RunQualify(const Options& options) {
  auto chosen = ReadChosenProfile(options);
  if (!chosen) {
    return chosen.error();
  }
  const auto alone = PcLock::Take(options);
  if (!alone) {
    return alone.error();
  }
  const std::filesystem::path into = options.into.empty() ? "rigproof-result" : options.into;
  const std::filesystem::path record_to =
      options.record_folder.empty() ? into : std::filesystem::path(options.record_folder);
  const Durations durations = DurationsOf(options.length, chosen->profile);
  report::Evidence evidence = StartEvidence(chosen->profile, ToText(options.length));
  evidence.command = AgainCommand(options);
  Measuring measuring(options, *std::move(chosen), record_to, durations, std::move(evidence));
  std::error_code unread;
  const bool was_there = std::filesystem::exists(into, unread);
  if (auto prepared = PrepareFolder(into, "--into"); !prepared) {
    return prepared.error();
  }
  auto checked = measuring.CheckFolders();
  if (checked) {
    checked = measuring.CheckInputs();
  }
  if (!checked) {
    if (!was_there) {
      std::filesystem::remove(into, unread);  // only an empty one goes
    }
    return checked.error();
  }
  Caution(options, report::kLoadCautions);
  Tell(options, measuring.TimeText());
  measuring.TakeInventory();
  if (auto quiet = measuring.LookForOthers(); !quiet) {
    return quiet.error();
  }
  measuring.MeasureCosts();
  measuring.MeasureDisks();
  if (auto rehearsed = measuring.Rehearse(); !rehearsed) {
    measuring.NoteNotRehearsed(rehearsed.error());
  } else {
    measuring.MeasureRoom();
  }
  const report::Document document = measuring.Finish();
  if (auto written = WriteResults(document, into, options); !written) {
    return written.error();
  }
  return report::ExitStatus(document.verdict);
}

}  // namespace cli
