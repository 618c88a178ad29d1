// SPDX-License-Identifier: Apache-2.0
//
// Result files that are there whole or not at all.

#pragma once

#include <filesystem>
#include <string_view>

#include "base/result.h"

namespace cli {

/// From now on a write that fails is an error to handle, not the program's death: into a pipe whose
/// reader is gone, or beyond the largest file that this user may make.
void HearOfFailedWrites();

/// Writes beside `path` and renames over it. A failure leaves what was there before.
base::Status WriteFileWhole(const std::filesystem::path& path, std::string_view text);

/// All of the text to an open file; false with errno set when it cannot be.
bool WriteAll(int file, std::string_view text);

/// Text to standard output; an error when it could not all be written.
base::Status PrintOut(std::string_view text);

/// Makes the folder when it is missing and proves that files can be made in
/// it: kInvalid otherwise, with `option` named in the detail.
base::Status PrepareFolder(const std::filesystem::path& folder, std::string_view option);

}  // namespace cli
