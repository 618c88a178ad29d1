// SPDX-License-Identifier: Apache-2.0
//
// Display connectors, from /sys/class/drm.

#pragma once

#include <string_view>
#include <vector>

#include "base/result.h"
#include "base/system/machine_root.h"
#include "probes/data/pci_gpu.h"

namespace probes {

/// Every connector that display drivers offer, connected or not. An empty list is an answer;
/// an error where there is no such folder: a display may hang on an adapter without a driver.
base::Result<std::vector<Display>> ReadDisplays(const base::MachineRoot& root);

/// What a connector's `status` file says; unknown where its driver cannot tell.
base::Reading<bool> ParseConnectorStatus(std::string_view text);

/// First line of a connector's `modes` file, "1920x1080i" as written; unknown when empty.
base::Reading<std::string> ParseFirstMode(std::string_view text);

}  // namespace probes
