// SPDX-License-Identifier: Apache-2.0
//
// One function per command, and the table that picks it.

#pragma once

#include "base/result.h"
#include "cli/options/options.h"

namespace cli {

/// The command's exit status; an Error is one line for the user.
base::Result<int> RunCommand(const Options& options);

base::Result<int> RunInventory(const Options& options);
base::Result<int> RunDemand(const Options& options);
base::Result<int> RunSurvey(const Options& options);
base::Result<int> RunRehearse(const Options& options);
base::Result<int> RunQualify(const Options& options);
base::Result<int> RunLineCheck(const Options& options);
base::Result<int> RunExamine(const Options& options);
base::Result<int> RunExplain(const Options& options);
base::Result<int> RunCaptureMachine(const Options& options);
base::Result<int> RunCompare(const Options& options);
base::Result<int> RunProfiles(const Options& options);
base::Result<int> RunWatch(const Options& options);
base::Result<int> RunOpen(const Options& options);
base::Result<int> RunSize(const Options& options);

}  // namespace cli
