// SPDX-License-Identifier: Apache-2.0
//
// Picks the command and turns its errors into a line and a status.

#include "cli/commands/run.h"

#include "cli/system/write_file.h"

namespace cli {

base::Result<int> RunCommand(const Options& options) {
  HearOfFailedWrites();
  switch (options.command) {
    case Command::kInventory:
      return RunInventory(options);
    case Command::kDemand:
      return RunDemand(options);
    case Command::kSurvey:
      return RunSurvey(options);
    case Command::kRehearse:
      return RunRehearse(options);
    case Command::kQualify:
      return RunQualify(options);
    case Command::kLineCheck:
      return RunLineCheck(options);
    case Command::kExamine:
      return RunExamine(options);
    case Command::kExplain:
      return RunExplain(options);
    case Command::kCaptureMachine:
      return RunCaptureMachine(options);
    case Command::kCompare:
      return RunCompare(options);
    case Command::kProfiles:
      return RunProfiles(options);
    case Command::kWatch:
      return RunWatch(options);
    case Command::kOpen:
      return RunOpen(options);
    case Command::kSize:
      return RunSize(options);
  }
  return base::Error{base::ErrorKind::kInvalid, "command line", "no such command"};
}

}  // namespace cli
