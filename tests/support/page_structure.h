// SPDX-License-Identifier: Apache-2.0
//
// The skeleton of an HTML page: its tags and the names of their attributes, without any text.

#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace report {

/// "div class id", "/div" and so on, in the order of the page; "<!--" for a
/// comment. What stands inside script and style elements is passed over, as a
/// parser passes over it: up to the first "</script" or "</style".
std::vector<std::string> PageStructure(std::string_view page);

/// The text of the first element whose start tag holds `mark`, up to "</".
std::string TextAfter(std::string_view page, std::string_view mark);

}  // namespace report
