// SPDX-License-Identifier: Apache-2.0
//
// Puts a text of choice into every string of a Document.

#pragma once

#include <string>

#include "report/data/document.h"

namespace report {

/// The text for the nth string.
using TextMaker = std::string (*)(int);

/// Markup that would run a script, end an element or an attribute, override the
/// reading direction; control characters and bytes that are not UTF-8.
std::string HostileText(int number);
/// Letters and digits only.
std::string HarmlessText(int number);

/// Replaces every string of the evidence and of the assessment, even those that
/// hold words of ours, and makes every reading of a text known.
void FillStrings(Document& document, TextMaker make);
/// Makes every reading of the inventory unknown, with a text as its reason.
void FillReasons(Document& document, TextMaker make);

}  // namespace report
