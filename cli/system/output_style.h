// SPDX-License-Identifier: Apache-2.0
//
// How text on standard output is to look.

#pragma once

#include "report/data/writers.h"

namespace cli {

/// Colour and width of the terminal behind standard output.
report::TerminalStyle OutputStyle(bool details = false);

}  // namespace cli
