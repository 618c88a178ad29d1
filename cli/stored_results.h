// SPDX-License-Identifier: Apache-2.0
//
// Results that were stored earlier, from the files that the command line names.

#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "base/result.h"
#include "report/document.h"

namespace cli {

/// A result.json, or a folder that holds one, read and assessed anew. Whatever is wrong with it is
/// kInvalid: the user named it.
base::Result<report::Document> ReadStoredResult(const std::filesystem::path& named);

/// The files of a folder that may be results: its own *.json and the result.json of each folder in
/// it, by name. kInvalid when it cannot be read, or holds none, or more than kMostStoredResults.
inline constexpr std::size_t kMostStoredResults = 1000;
base::Result<std::vector<std::filesystem::path>> FilesOfFolder(const std::filesystem::path& folder);

}  // namespace cli
