// SPDX-License-Identifier: Apache-2.0
//
// The skeleton of an HTML page: its tags and the names of their attributes, without any text.

#include "tests/support/page_structure.h"

#include <algorithm>
#include <cctype>

namespace report {

namespace {

bool IsSpace(char letter) {
  return letter == ' ' || letter == '\n' || letter == '\t' || letter == '\r' || letter == '\f';
}

/// Reads one tag from behind its "<"; `at` ends behind its ">".
std::string ReadTag(std::string_view page, std::size_t& at) {
  std::string names;
  while (at < page.size() && page[at] != '>') {
    if (IsSpace(page[at])) {
      ++at;
      continue;
    }
    names += names.empty() ? "" : " ";
    while (at < page.size() && !IsSpace(page[at]) && page[at] != '>' && page[at] != '=') {
      names += page[at++];
    }
    if (at >= page.size() || page[at] != '=') {
      continue;
    }
    const char quote = ++at < page.size() ? page[at] : '>';
    const bool quoted = quote == '"' || quote == '\'';
    at += quoted ? 1 : 0;
    while (at < page.size() &&
           (quoted ? page[at] != quote : !IsSpace(page[at]) && page[at] != '>')) {
      ++at;
    }
    at += quoted ? 1 : 0;
  }
  ++at;
  return names;
}

bool StartsTag(std::string_view page, std::size_t at) {
  const char next = at + 1 < page.size() ? page[at + 1] : ' ';
  return page[at] == '<' && (std::isalpha(static_cast<unsigned char>(next)) != 0 || next == '/' ||
                             next == '!' || next == '?');
}

}  // namespace

std::vector<std::string> PageStructure(std::string_view page) {
  std::vector<std::string> tags;
  for (std::size_t at = 0; at < page.size();) {
    if (!StartsTag(page, at)) {
      ++at;
      continue;
    }
    tags.push_back(ReadTag(page, ++at));
    for (const std::string_view raw : {"script", "style"}) {
      if (tags.back().rfind(raw, 0) == 0) {
        at = std::min(page.find("</" + std::string(raw), at), page.size());
      }
    }
  }
  return tags;
}

std::string TextAfter(std::string_view page, std::string_view mark) {
  const std::size_t found = page.find(mark);
  if (found == std::string_view::npos) {
    return {};
  }
  const std::size_t start = page.find('>', found) + 1;
  return std::string(page.substr(start, page.find("</", start) - start));
}

}  // namespace report
