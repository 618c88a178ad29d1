// SPDX-License-Identifier: Apache-2.0
//
// Where the programs are that this one runs or hands over to.

#pragma once

#include <filesystem>

namespace cli {

/// Measures what single stages cost; run as a child.
std::filesystem::path CostsProgram();
/// All commands, with FFmpeg loaded; `rigproof` becomes it for what needs that.
std::filesystem::path MediaProgram();

}  // namespace cli
