// SPDX-License-Identifier: Apache-2.0
//
// Help, wrapped to a width.

#pragma once

#include <string>

#include "cli/options/option_table.h"

namespace cli {

/// All commands, and the options that each takes. `columns` of the terminal.
std::string HelpText(int columns);
/// One command: usage, options, example, cautions, what is good to know, exit status.
std::string HelpText(const CommandRow& command, int columns);
/// What to type first, for somebody who typed the program's name alone.
std::string FirstWords(int columns);

}  // namespace cli
