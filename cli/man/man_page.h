// SPDX-License-Identifier: Apache-2.0
//
// Manual pages in man(7)'s form, from the option table.

#pragma once

#include <string>
#include <string_view>

#include "cli/options/option_table.h"

namespace cli {

/// Text as troff prints it: nothing in it is taken for a request or an escape.
std::string TroffText(std::string_view text);

/// rigproof(1): what it is for, its commands and exit statuses.
std::string ManPage(std::string_view version);
/// rigproof-COMMAND(1).
std::string ManPage(const CommandRow& command, std::string_view version);

}  // namespace cli
