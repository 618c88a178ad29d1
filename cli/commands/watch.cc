// SPDX-License-Identifier: Apache-2.0
//
// rigproof watch: what the PC does during a real production.

#include <csignal>

#include "cli/commands/run.h"
#include "cli/watching.h"

namespace cli {

base::Result<int> RunWatch(const Options& options) {
  if (options.into.empty()) {
    return base::Error{base::ErrorKind::kInvalid, "command line",
                       "watch needs --into LOG: a new folder, or an empty one, for the log"};
  }
  // A reader that goes away is an error to handle, not our death.
  std::signal(SIGPIPE, SIG_IGN);
  return Watch(options);
}

}  // namespace cli
