// SPDX-License-Identifier: Apache-2.0
//
// Quantities as text.

#include "report/figures.h"

#include <cctype>
#include <string_view>

#include <fmt/format.h>

namespace report {

std::string ResourceText(const Headroom& row) {
  if (row.resource == "cpu") {
    return "the CPU";
  }
  if (row.resource == "encoder") {
    return "encoding";
  }
  if (row.resource == "disk") {
    return "the disk of " + row.item;
  }
  if (row.resource == "space") {
    return "free space in " + row.item;
  }
  if (row.resource == "file size") {
    return "the largest file of " + row.item;
  }
  if (row.resource == "usb" || row.resource == "pcie" || row.resource == "encode sessions") {
    return row.item.empty() ? row.resource : row.item;
  }
  if (row.resource == "network") {
    return "network " + row.item;
  }
  return row.item.empty() ? row.resource : row.resource + " " + row.item;
}

std::string Capitalised(std::string text) {
  if (!text.empty()) {
    text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
  }
  return text;
}

std::string CountText(long long count, const std::string& singular, const std::string& plural) {
  return fmt::format("{} {}", count, count == 1 ? singular : plural);
}

std::string HeadlineAlone(const std::string& headline) {
  for (const char* word : {"Ready: ", "Tight: ", "Short: ", "Unproven: "}) {
    if (headline.starts_with(word)) {
      return Capitalised(headline.substr(std::string_view(word).size()));
    }
  }
  return headline;
}

}  // namespace report
