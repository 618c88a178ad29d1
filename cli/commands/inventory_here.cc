// SPDX-License-Identifier: Apache-2.0

#include "cli/commands/inventory_here.h"

#include "cli/system/output_style.h"
#include "cli/system/progress.h"
#include "cli/system/record_folder.h"
#include "cli/system/write_file.h"
#include "report/show/terminal/inventory.h"
#include "report/stored/inventory_json.h"

namespace cli {

bool IsInventoryHere(const Options& options) {
  return options.command == Command::kInventory && options.machine.empty() && !options.open_codecs;
}

base::Result<int> RunInventoryHere(const Options& options) {
  probes::InventoryRequest request;
  request.recording_folders = {ChosenRecordFolder(options)};
  if (auto there = CheckFoldersExist(request.recording_folders); !there) {
    return there.error();
  }
  return ShowInventory(base::MachineRoot::Live(), request, options);
}

base::Result<int> ShowInventory(const base::MachineRoot& root,
                                const probes::InventoryRequest& request, const Options& options) {
  probes::Inventory inventory;
  {
    ProgressDisplay progress(StyleForStandardError(options.quiet));
    progress.Begin(request.open_codecs ? "inventory, codecs opened for real" : "inventory", 0);
    inventory = probes::TakeInventory(root, request);
  }
  auto printed =
      PrintOut(options.json ? report::InventoryJson(inventory)
                            : report::WriteInventoryText(inventory, OutputStyle(options.details)));
  if (!printed) {
    return printed.error();
  }
  return 0;
}

}  // namespace cli
