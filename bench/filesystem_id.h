// SPDX-License-Identifier: Apache-2.0
//
// Which folders share one filesystem, and so its room.

#pragma once

#include <cstdint>
#include <filesystem>

#include "base/result.h"

namespace bench {

/// A number that two folders share when they lie on one filesystem. kNotPresent
/// when there is no such folder, kDenied when it may not be looked at.
base::Result<std::uint64_t> FilesystemId(const std::filesystem::path& folder);

}  // namespace bench
