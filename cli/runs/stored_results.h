// SPDX-License-Identifier: Apache-2.0
//
// Results that were stored earlier, from the files that the command line names.

#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "report/data/document.h"

namespace cli {

/// A result.json, or a folder that holds one, read and assessed anew. Whatever is wrong with it is
/// kInvalid: the user named it.
base::Result<report::Document> ReadStoredResult(const std::filesystem::path& named);

/// The text of a result.json; `origin` opens the error.
base::Result<report::Document> AssessStored(std::string_view text, const std::string& origin);
/// A full-length run of eight hours with ten outputs takes about 40 MB.
inline constexpr std::uintmax_t kMostStoredBytes = std::uintmax_t{512} << 20U;

/// The files of a folder that may be results: its own *.json and the result.json of each folder in
/// it, by name. kInvalid when it cannot be read, or holds none, or more than kMostStoredResults.
inline constexpr std::size_t kMostStoredResults = 1000;
base::Result<std::vector<std::filesystem::path>> FilesOfFolder(const std::filesystem::path& folder);

}  // namespace cli
