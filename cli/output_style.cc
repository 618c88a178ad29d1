// SPDX-License-Identifier: Apache-2.0

#include "cli/output_style.h"

#include "cli/terminal.h"

namespace cli {

report::TerminalStyle OutputStyle() {
  return {WantsColour(Stream::kOutput), TerminalColumns(Stream::kOutput)};
}

}  // namespace cli
