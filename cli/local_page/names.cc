// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/names.h"

#include "base/text.h"

namespace cli {

bool IsName(std::string_view name) {
  constexpr std::string_view kNotInFront = ".- ";
  constexpr std::string_view kNotBehind = ". ";
  return !name.empty() && name.size() <= kLongestName &&
         name.find_first_of("/\\") == std::string_view::npos &&
         kNotInFront.find(name.front()) == std::string_view::npos &&
         kNotBehind.find(name.back()) == std::string_view::npos &&
         base::Printable(name, name.size()) == name;
}

bool IsResultName(std::string_view name) {
  return name == kResultHere || IsName(name);
}

bool IsProfileName(std::string_view name) {
  return IsName(name) && name != "result" && name != "comparison";
}

}  // namespace cli
