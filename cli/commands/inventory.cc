// SPDX-License-Identifier: Apache-2.0
//
// rigproof inventory: what this PC, or a captured one, has.

#include "cli/commands/inventory_here.h"
#include "cli/commands/run.h"
#include "cli/system/inputs.h"
#include "cli/system/record_folder.h"
#include "probes/pci_gpu/codec_trials.h"

namespace cli {

base::Result<int> RunInventory(const Options& options) {
  if (IsInventoryHere(options)) {
    return RunInventoryHere(options);
  }
  auto machine = OpenChosenMachine(options);
  if (!machine) {
    return machine.error();
  }
  probes::InventoryRequest request;
  request.recording_folders = {ChosenRecordFolder(options)};
  if (machine->root.live()) {
    request.open_codecs = probes::TryCodecs;
    if (auto there = CheckFoldersExist(request.recording_folders); !there) {
      return there.error();
    }
  }
  return ShowInventory(machine->root, request, options);
}

}  // namespace cli
