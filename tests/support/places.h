// SPDX-License-Identifier: Apache-2.0
//
// Where test data lie.

#pragma once

#include <filesystem>

namespace support {

/// Folder "machines" in it: the stored machines, unpacked.
const std::filesystem::path& Fixtures();

/// Public data that may be there or not; nothing of it belongs to the project.
const std::filesystem::path& Shared();

}  // namespace support
