// SPDX-License-Identifier: Apache-2.0
//
// Quantities as text.

#include "report/words/figures.h"

#include <cctype>

#include <fmt/format.h>

#include "report/words/quantities.h"

namespace report {

std::string ResourceText(const Headroom& row) {
  switch (row.resource) {
    case Resource::kCpu:
      return "the CPU";
    case Resource::kEncoder:
      return "encoding";
    case Resource::kDisk:
      return "the disk of " + row.item;
    case Resource::kSpace:
      return "free space in " + row.item;
    case Resource::kFileSize:
      return "the largest file of " + row.item;
    case Resource::kNetwork:
      return "network " + row.item;
    case Resource::kUsb:
    case Resource::kPcie:
    case Resource::kEncodeSessions:
      return row.item.empty() ? RowName(row.resource, "") : row.item;
    case Resource::kOneThread:
    case Resource::kMemory:
    case Resource::kMemoryTraffic:
    case Resource::kUplink:
    case Resource::kDisplays:
      break;
  }
  return RowName(row.resource, row.item);
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

std::string NeededText(const Headroom& row, const std::string& unit) {
  return !row.capacity && row.demand == 0 ? "not known" : FormatNeeded(row.demand, unit);
}

std::string AvailableText(const Headroom& row, const std::string& unit) {
  return row.capacity ? FormatAvailable(*row.capacity, unit) : "not known";
}

}  // namespace report
