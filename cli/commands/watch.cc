// SPDX-License-Identifier: Apache-2.0
//
// rigproof watch: what the PC does during a real production.

#include "cli/commands/run.h"
#include "cli/runs/watching.h"
#include "cli/system/write_file.h"

namespace cli {

base::Result<int> RunWatch(const Options& options) {
  if (options.into.empty()) {
    return base::Error{base::ErrorKind::kInvalid, "command line",
                       "watch needs --into LOG: a new folder, or an empty one, for the log"};
  }
  HearOfFailedWrites();
  return Watch(options);
}

}  // namespace cli
