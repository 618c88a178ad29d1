// SPDX-License-Identifier: Apache-2.0
//
// What is said about room for more sources, the same on the terminal and on the page.

#pragma once

#include <string>
#include <vector>

#include "report/data/document.h"

namespace report {

/// Whether there is anything to say: something was run.
bool HasRoomSection(const Document& document);

/// Whether the number was rehearsed and what came of it, or why it was not; one sentence or two.
std::string SearchText(const Document& document);

/// What an added source needs and nothing tells of; hardware encoders as they opened.
std::vector<std::string> RoomNotes(const Document& document);

/// "cpu", "disk: /recordings", "nothing up to 14": what runs out first.
std::string LimitText(const SourceRoom& room);

}  // namespace report
