// SPDX-License-Identifier: Apache-2.0
//
// rigproof inventory: what this PC, or a captured one, has.

#include "cli/commands/run.h"
#include "cli/inputs.h"
#include "cli/progress.h"
#include "cli/show.h"
#include "cli/write_file.h"
#include "probes/take_inventory.h"
#include "report/write_json.h"
#include "report/write_terminal_inventory.h"

namespace cli {

base::Result<int> RunInventory(const Options& options) {
  auto machine = OpenChosenMachine(options);
  if (!machine) {
    return machine.error();
  }
  probes::InventoryRequest request;
  request.recording_folders = {ChosenRecordFolder(options)};
  request.try_codecs = machine->root.live();
  if (machine->root.live()) {
    if (auto there = CheckFoldersExist(request.recording_folders); !there) {
      return there.error();
    }
  }
  probes::Inventory inventory;
  {
    ProgressDisplay progress(StyleForStandardError(options.quiet));
    progress.Begin("inventory, codecs opened for real", 0);
    inventory = probes::TakeInventory(machine->root, request);
  }
  auto printed = PrintOut(options.json ? report::InventoryJson(inventory)
                                       : report::WriteInventoryText(inventory, OutputStyle()));
  if (!printed) {
    return printed.error();
  }
  return 0;
}

}  // namespace cli
