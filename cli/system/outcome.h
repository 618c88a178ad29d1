// SPDX-License-Identifier: Apache-2.0
//
// How a command ended, as an exit status and a line for the user.

#pragma once

#include <exception>
#include <functional>
#include <string>

#include "base/result.h"

namespace cli {

/// Exit statuses beside those of a verdict (0 ready, 3 tight, 4 short, 5 unproven).
inline constexpr int kFailed = 1;
inline constexpr int kWrongUse = 2;

/// One line on standard error.
void Complain(const std::string& line);

/// "WHERE: DETAIL" without control characters.
std::string ErrorLine(const base::Error& error);
/// What came of an exception that reached the end of the program: one line.
std::string FailureLine(const std::exception& error);
/// kFailed when the machine failed us (kIo), kWrongUse for all that the user can mend.
int ExitStatusOf(const base::Error& error);

/// Runs the whole program: an Error or an exception becomes one line on standard error and a
/// status.
int EndWith(const std::function<base::Result<int>()>& program);

}  // namespace cli
