// SPDX-License-Identifier: Apache-2.0
//
// The evidence that every command begins with.

#pragma once

#include <string>

#include "cli/options/options.h"
#include "profiles/profile.h"
#include "report/data/document.h"

namespace cli {

/// Now, as ISO 8601 in UTC.
std::string UtcNow();

/// The command line that rehearses or qualifies the same once more.
std::string AgainCommand(const Options& options);

/// Profile, demand, time and version; nothing read or measured yet. `length`
/// is "survey", or a text for people.
report::Evidence StartEvidence(const profiles::Profile& profile, std::string length);

}  // namespace cli
