// SPDX-License-Identifier: Apache-2.0
//
// What can be said of a production on a PC without any load.

#pragma once

#include <filesystem>

#include "base/result.h"
#include "base/system/machine_root.h"
#include "cli/system/inputs.h"
#include "report/data/document.h"

namespace cli {

/// Inventory, computed headroom and findings. `record_to` takes the recordings of outputs that name
/// no folder; kInvalid names a recording folder of this PC that does not exist.
base::Result<report::Document> Survey(const ChosenProfile& chosen, const base::MachineRoot& root,
                                      const std::filesystem::path& record_to);

}  // namespace cli
