// SPDX-License-Identifier: Apache-2.0
//
// Whole files that the command line names.

#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>

#include "base/result.h"

namespace cli {

/// The whole of a regular file of at most `most_bytes`: whoever writes into a pipe might never
/// end. kInvalid, with what is `allowed`.
base::Result<std::string> ReadRegularFile(const std::filesystem::path& path,
                                          std::uintmax_t most_bytes, std::string_view allowed);

}  // namespace cli
