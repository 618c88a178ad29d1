// SPDX-License-Identifier: Apache-2.0

#include "cli/runs/surveying.h"

#include <utility>

#include "bench/plan/plan.h"
#include "cli/runs/evidence.h"
#include "cli/system/record_folder.h"
#include "probes/take_inventory.h"
#include "report/assess/assess.h"

namespace cli {

base::Result<report::Document> Survey(const ChosenProfile& chosen, const base::MachineRoot& root,
                                      const std::filesystem::path& record_to) {
  report::Evidence evidence = StartEvidence(chosen.profile, report::kSurvey);
  probes::InventoryRequest request;
  request.recording_folders = bench::RecordingFolders(chosen.profile, record_to, chosen.folder);
  if (root.live()) {
    if (auto there = CheckFoldersExist(request.recording_folders); !there) {
      return there.error();
    }
  }
  evidence.inventory = probes::TakeInventory(root, request);
  return report::Assess(std::move(evidence));
}

}  // namespace cli
