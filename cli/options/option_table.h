// SPDX-License-Identifier: Apache-2.0
//
// The option table: every command with its options, help and example. Help text comes from here.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cli/options/options.h"

namespace cli {

inline constexpr std::string_view kVerdictStatuses =
    "0 ready, 3 tight, 4 short, 5 unproven, 2 wrong use or bad input, 1 failed.";
inline constexpr std::string_view kPlainStatuses = "0 done, 2 wrong use or bad input, 1 failed.";

/// One option or positional. `set` stores the value (empty for a flag) or
/// says in an Error's detail what was found and what is allowed.
struct OptionRow {
  std::string_view name;   // "--machine"; no dashes for a positional
  std::string_view value;  // placeholder "ROOT"; empty for a flag
  bool required = false;   // positionals only
  std::string_view help;
  base::Status (*set)(Options& options, const std::string& value);
  bool repeats = false;  // one or more of them
};

struct CommandRow {
  Command command;
  std::string_view name;
  std::string_view summary;
  std::string_view example;
  std::vector<OptionRow> options;
  // Below the example in the help, and sections of the manual page:
  std::vector<std::string_view> cautions = {};  // what to mind before it is run
  std::vector<std::string_view> notes = {};
  std::string_view statuses = kPlainStatuses;
};

const std::vector<CommandRow>& CommandTable();
/// Options that every command takes.
const std::vector<OptionRow>& CommonOptions();

}  // namespace cli
