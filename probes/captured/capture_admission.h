// SPDX-License-Identifier: Apache-2.0
//
// Which places of a machine a captured one may hold: a table, whatever a probe reads.

#pragma once

#include <string_view>

namespace probes {

/// Becomes an empty file where a link leads to it.
inline constexpr std::string_view kNullDevice = "/dev/null";

/// `path`, with a leading slash and all links followed, of a file; with a slash at its end, of a
/// folder. Of /proc only the files that are named here, none of them one that a process made.
bool MayBeCaptured(std::string_view path);

/// Whether `path` lies in the folder of a process ("/proc/77/comm"): a link there leads to what
/// that process has open, and is never followed.
bool IsOfProcess(std::string_view path);

}  // namespace probes
