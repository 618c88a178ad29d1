// SPDX-License-Identifier: Apache-2.0
//
// A question to the person at the terminal.

#pragma once

#include <stop_token>
#include <string_view>

namespace cli {

/// Whether there is somebody to ask: standard input and standard error are terminals.
bool CanAsk();

/// "QUESTION [y/N] " on standard error; true for an answer that begins with y.
/// No answer, end of input and a stop are a no.
bool AskYesOrNo(std::string_view question, const std::stop_token& stop);

}  // namespace cli
