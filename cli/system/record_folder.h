// SPDX-License-Identifier: Apache-2.0
//
// The folders that take the recordings.

#pragma once

#include <filesystem>
#include <vector>

#include "base/result.h"
#include "cli/options/options.h"

namespace cli {

/// Where recordings go that name no folder of their own: --record-to, else the
/// working folder of this PC or the top folder of a captured machine.
std::filesystem::path ChosenRecordFolder(const Options& options);

/// kInvalid names the first folder of this PC that does not exist.
base::Status CheckFoldersExist(const std::vector<std::filesystem::path>& folders);

}  // namespace cli
