// SPDX-License-Identifier: Apache-2.0
//
// From the text of an option to a member of Options: what rows of the option table store with.

#pragma once

#include <string>

#include "base/result.h"
#include "base/text.h"
#include "cli/options/options.h"

namespace cli {

/// The detail says what was found and what is allowed; who called knows the option.
base::Error NotAllowed(const std::string& found, const std::string& allowed);

template <std::string Options::*kMember>
base::Status SetText(Options& options, const std::string& value) {
  if (value.empty()) {
    return NotAllowed(value, "a name that is not empty");
  }
  options.*kMember = value;
  return base::Done{};
}

template <std::vector<std::string> Options::*kMember>
base::Status AddText(Options& options, const std::string& value) {
  if (value.empty()) {
    return NotAllowed(value, "a name that is not empty");
  }
  (options.*kMember).push_back(value);
  return base::Done{};
}

template <bool Options::*kMember>
base::Status SetFlag(Options& options, const std::string& /*value*/) {
  options.*kMember = true;
  return base::Done{};
}

/// For a double, or an optional one.
template <auto kMember, int kLeast, int kMost>
base::Status SetSeconds(Options& options, const std::string& value) {
  const auto seconds = base::ParseDouble(value);
  if (!seconds || !(*seconds >= kLeast && *seconds <= kMost)) {
    return NotAllowed(value, "a number of seconds from " + std::to_string(kLeast) + " to " +
                                 std::to_string(kMost));
  }
  options.*kMember = *seconds;
  return base::Done{};
}

base::Status SetLength(Options& options, const std::string& value);
base::Status SetHz(Options& options, const std::string& value);
/// "500MB", "2GB".
base::Status SetMostSize(Options& options, const std::string& value);
/// Of TCP, 1 to 65535.
base::Status SetPort(Options& options, const std::string& value);
base::Status SetMetrics(Options& options, const std::string& value);

}  // namespace cli
