// SPDX-License-Identifier: Apache-2.0
//
// What the terminal behind a standard stream can do.

#pragma once

namespace cli {

enum class Stream { kOutput, kError };

/// A terminal that can move its cursor (TERM set and not "dumb").
bool IsTerminal(Stream stream);
/// Width in characters; 80 when it is no terminal.
int TerminalColumns(Stream stream);
/// A terminal whose user did not ask for plain text (NO_COLOR).
bool WantsColour(Stream stream);

}  // namespace cli
