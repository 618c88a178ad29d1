// SPDX-License-Identifier: Apache-2.0
//
// Where the program that measures the cost of each stage lies.

#pragma once

#include <filesystem>

namespace cli {

/// Beside this program as installed (libexec/rigproof), else as built. When
/// neither is there the installed place is given, so that its absence names it.
std::filesystem::path CostsProgram();

}  // namespace cli
