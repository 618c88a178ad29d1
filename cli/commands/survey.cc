// SPDX-License-Identifier: Apache-2.0
//
// rigproof survey: what can be said without any load.

#include "bench/plan.h"
#include "cli/commands/run.h"
#include "cli/evidence.h"
#include "cli/inputs.h"
#include "cli/record_folder.h"
#include "cli/result_files.h"
#include "cli/show.h"
#include "cli/write_file.h"
#include "probes/take_inventory.h"
#include "report/assess.h"

namespace cli {

base::Result<int> RunSurvey(const Options& options) {
  auto chosen = ReadChosenProfile(options);
  if (!chosen) {
    return chosen.error();
  }
  auto machine = OpenChosenMachine(options);
  if (!machine) {
    return machine.error();
  }
  if (!options.into.empty()) {
    if (auto prepared = PrepareFolder(options.into, "--into"); !prepared) {
      return prepared.error();
    }
  }
  report::Evidence evidence = StartEvidence(chosen->profile, report::kSurvey);
  probes::InventoryRequest request;
  request.recording_folders =
      bench::RecordingFolders(chosen->profile, ChosenRecordFolder(options), chosen->folder);
  if (machine->root.live()) {
    if (auto there = CheckFoldersExist(request.recording_folders); !there) {
      return there.error();
    }
  }
  evidence.inventory = probes::TakeInventory(machine->root, request);
  const report::Document document = report::Assess(std::move(evidence));
  auto shown = options.into.empty() ? ShowDocument(document, options)
                                    : WriteResults(document, options.into, options);
  if (!shown) {
    return shown.error();
  }
  return report::ExitStatus(document.verdict);
}

}  // namespace cli
