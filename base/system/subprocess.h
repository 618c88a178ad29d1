// SPDX-License-Identifier: Apache-2.0
//
// Runs another program and keeps what it said: the only place that starts one.

#pragma once

#include <cstddef>
#include <stop_token>
#include <string>
#include <vector>

#include "base/result.h"

namespace base {

/// What to run. No shell is involved: arguments reach the program as they are.
struct Command {
  std::vector<std::string> argv;  // the program first: a path, or a name sought in PATH
  double timeout_seconds = 60;
  std::size_t max_out_bytes = 16 << 20;  // more is read and thrown away
  std::size_t max_err_bytes = 64 << 10;
};

/// How a started program ended. Its standard input was empty.
struct Finished {
  int exit_status = -1;  // -1 when it did not exit by itself
  int signal = 0;        // that ended it; 0 when it exited by itself
  bool timed_out = false;
  bool stopped = false;  // on request, with `stop`
  std::string out;
  std::string err;
  bool out_cut = false;  // there was more than the limit
  bool err_cut = false;

  bool ok() const { return exit_status == 0; }
};

/// Runs `command` to its end. When `stop` is requested or the time is over, it
/// and all that it started are killed within 200 ms. An Error means that it did
/// not start: kNotPresent, kDenied, kInvalid (no argv), else kIo.
Result<Finished> RunProgram(const Command& command, const std::stop_token& stop = {});

/// Why a finished program is no success ("exit status 3: <last line of its
/// standard error>", "timed out"); empty when it is one.
std::string WhyFailed(const Finished& finished);

}  // namespace base
