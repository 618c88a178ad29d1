// SPDX-License-Identifier: Apache-2.0
//
// Runs another program beside this one, heard line by line while it runs, and stopped in good
// order.

#pragma once

#include <functional>
#include <stop_token>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace base {

/// What to run. No shell is involved. Its standard input and output are empty.
struct AttendedProgram {
  std::vector<std::string> argv;  // the program first, by its path
  double patience_s = 20;         // from SIGTERM to SIGKILL
};

/// How it ended.
struct AttendedEnd {
  int exit_status = -1;  // -1 when it did not exit by itself
  int signal = 0;        // that ended it; 0 when it exited by itself
};

/// Called in the thread that runs it; lines without their end, cut after 4096 bytes.
using LineSink = std::function<void(std::string_view line)>;

/// Runs it to its end; each line of its standard error goes to `on_line`. When `stop` is requested
/// it gets SIGTERM, and SIGKILL with all of its process group when its patience is over. Should the
/// calling thread or its process end first, it gets SIGTERM too, as often as threads end (not what
/// it has started itself), but nobody is left to send SIGKILL: a program that does not listen to
/// SIGTERM runs on. It never gets SIGINT, whose repetition means that a person will not wait. An
/// Error means that it did not start.
Result<AttendedEnd> RunAttended(const AttendedProgram& program, const std::stop_token& stop,
                                const LineSink& on_line);

}  // namespace base
