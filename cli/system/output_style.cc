// SPDX-License-Identifier: Apache-2.0

#include "cli/system/output_style.h"

#include "cli/system/terminal.h"

namespace cli {

report::TerminalStyle OutputStyle(bool details) {
  return {WantsColour(Stream::kOutput), TerminalColumns(Stream::kOutput), details};
}

}  // namespace cli
