// SPDX-License-Identifier: Apache-2.0
//
// What the running system says of a folder: its place, room, and whether we may write.

#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

#include "base/reading.h"
#include "base/result.h"

namespace probes {

struct FolderFacts {
  std::filesystem::path path;   // absolute, links resolved
  std::optional<int> mount_id;  // as in mountinfo; empty on kernels before 5.8
  std::string device_number;    // of the filesystem, "8:1"; empty where the system was not asked
  base::Reading<std::int64_t> size_bytes;
  base::Reading<std::int64_t> free_bytes;  // for an ordinary user
  base::Reading<std::int64_t> block_bytes;
  base::Reading<bool> writable;
};

/// Asks the PC that this runs on. kNotPresent when there is no such folder,
/// kInvalid when it is something else.
base::Result<FolderFacts> AskFolder(const std::filesystem::path& folder);

}  // namespace probes
