// SPDX-License-Identifier: Apache-2.0
//
// Which kernel driver serves a device of sysfs.

#pragma once

#include <string>

#include "base/reading.h"
#include "base/system/machine_root.h"

namespace probes {

/// From the `driver` link of a device's folder, else from its `uevent`. "" when
/// none is bound; unknown when neither file can tell.
base::Reading<std::string> ReadDriver(const base::MachineRoot& root, const std::string& folder);

/// Last part of a path.
std::string LastPart(const std::string& path);

}  // namespace probes
