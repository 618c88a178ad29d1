// SPDX-License-Identifier: Apache-2.0
//
// rigproof watch: what the PC does during a real production.

#include <csignal>

#include "cli/commands/run.h"
#include "cli/version.h"
#include "cli/watching.h"

namespace cli {

base::Result<int> RunWatch(const Options& options) {
  if (options.into.empty()) {
    return base::Error{base::ErrorKind::kInvalid, "command line",
                       "watch needs --into LOG: a new folder, or an empty one, for the log"};
  }
  // A reader that goes away is an error to handle, not our death.
  std::signal(SIGPIPE, SIG_IGN);
  WatchArguments arguments;
  arguments.into = options.into;
  arguments.program = options.program;
  arguments.hz = options.hz;
  arguments.most_bytes = options.most_bytes;
  arguments.seconds = options.seconds;
  arguments.metrics = options.metrics;
  arguments.json = options.json;
  arguments.quiet = options.quiet;
  arguments.version = ProgramVersion();
  return Watch(arguments);
}

}  // namespace cli
