// SPDX-License-Identifier: Apache-2.0
//
// Completion of the command line in shells, from the option table.

#pragma once

#include <string>

namespace cli {

/// Scripts that the shell reads: https://www.gnu.org/software/bash/manual (Programmable
/// Completion), zshcompsys(1), and fish's complete(1).
std::string BashCompletion();
std::string ZshCompletion();
std::string FishCompletion();

}  // namespace cli
