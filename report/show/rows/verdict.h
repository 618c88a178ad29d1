// SPDX-License-Identifier: Apache-2.0
//
// The verdict in words, what it rests on and what to fix first, the same wherever it is shown.

#pragma once

#include <string>
#include <vector>

#include "report/data/document.h"
#include "report/show/blocks.h"

namespace report {

struct VerdictWords {
  std::string word;  // "Ready"
  show::Mark mark = show::Mark::kNone;
  std::string meaning;
};
VerdictWords WordsOf(Verdict verdict);

/// "Stop", "Warn", "Note", with its mark.
show::Cell SeverityCell(Severity severity);

/// Production, how long it lasts, when and how it was tested, on which PC, with what.
show::Facts TestFacts(const Evidence& evidence);
/// The same in one line.
std::string TestedText(const Evidence& evidence);

/// Why a result is incomplete, as a sentence.
std::string WhyIncomplete(const Evidence& evidence);

/// The repair to begin with; failing that, how to prove what is open.
std::string FixFirst(const Document& document);

/// "usb bus 2, displays": what was neither measured nor calculated; empty where nothing is.
std::string UnprovenNames(const Document& document);

/// Findings that ask for something and rows that are unproven, one line each.
std::vector<std::string> OpenPoints(const Document& document);

}  // namespace report
