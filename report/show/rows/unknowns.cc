// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/unknowns.h"

#include <algorithm>
#include <cstddef>

#include <fmt/format.h>

namespace report {

void Unknowns::AddReason(std::string_view name, const std::string& why) {
  const auto same = std::find_if(names_by_reason_.begin(), names_by_reason_.end(),
                                 [&](const auto& known) { return known.first == why; });
  auto& names = same == names_by_reason_.end()
                    ? names_by_reason_.emplace_back(why, std::vector<std::string>()).second
                    : same->second;
  names.emplace_back(name);
}

std::string Unknowns::Text(std::string_view of) const {
  std::string text;
  for (const auto& [why, names] : names_by_reason_) {
    text += text.empty() ? "" : "; ";
    for (std::size_t at = 0; at < names.size(); ++at) {
      text += at == 0 ? "" : at + 1 == names.size() ? " and " : ", ";
      text += names[at];
    }
    text += fmt::format("{}{} unknown: {}", of.empty() ? "" : " of ", of, why);
  }
  return text;
}

}  // namespace report
