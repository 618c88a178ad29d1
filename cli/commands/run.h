// SPDX-License-Identifier: Apache-2.0
//
// One function per command, and the table that picks it.

#pragma once

#include <string>

#include "base/result.h"
#include "cli/options.h"

namespace cli {

/// Exit statuses beside those of a verdict (0 ready, 3 tight, 4 short, 5 unproven).
inline constexpr int kFailed = 1;
inline constexpr int kWrongUse = 2;

/// The command's exit status; an Error is one line for the user.
base::Result<int> RunCommand(const Options& options);

base::Result<int> RunInventory(const Options& options);
base::Result<int> RunDemand(const Options& options);
base::Result<int> RunSurvey(const Options& options);
base::Result<int> RunRehearse(const Options& options);
base::Result<int> RunQualify(const Options& options);
base::Result<int> RunLineCheck(const Options& options);
base::Result<int> RunCaptureMachine(const Options& options);
base::Result<int> RunProfiles(const Options& options);
base::Result<int> RunWatch(const Options& options);

/// "WHERE: DETAIL" without control characters.
std::string ErrorLine(const base::Error& error);
/// kFailed when the machine failed us (kIo), kWrongUse for all that the user can mend.
int ExitStatusOf(const base::Error& error);

}  // namespace cli
