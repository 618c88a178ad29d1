// SPDX-License-Identifier: Apache-2.0
//
// The files of a log's folder.

#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

namespace probes {

struct WatchPart {
  std::filesystem::path path;
  int number = 0;
  std::int64_t bytes = 0;
};

/// "part-000001.rigproof-log".
std::string WatchPartName(int number);

/// Those that are there, by number; other files are passed over.
std::vector<WatchPart> ListWatchParts(const std::filesystem::path& folder);

}  // namespace probes
