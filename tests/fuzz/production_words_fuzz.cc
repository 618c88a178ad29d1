// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: words of `size --add` and `--change`, given to each starter in turn. The first
// byte chooses the starter and what the rest is: short forms and changes by lines, one upon the
// other, or a JSON text of additions.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>

#include "base/text.h"
#include "profiles/text/addition.h"
#include "profiles/text/change.h"
#include "profiles/text/reader.h"
#include "profiles/text/starters.h"

namespace {

using profiles::Profile;

constexpr std::size_t kMostLines = 8;

void Require(bool holds) {
  if (!holds) {
    std::abort();
  }
}

/// What was taken must be a profile like any other; what was not, says why in one line.
bool Check(const base::Result<Profile>& result) {
  if (!result) {
    Require(!result.error().detail.empty());
    Require(result.error().detail.find('\n') == std::string::npos);
    return false;
  }
  const auto again = profiles::ParseProfile(profiles::ToJsonText(*result), "again");
  Require(again.has_value() && *again == *result);
  return true;
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) {
    return 0;
  }
  const auto& starters = profiles::Starters();
  const auto starter =
      profiles::ParseProfile(starters[data[0] / 2 % starters.size()].json, "starter");
  Require(starter.has_value());
  Profile production = *starter;
  const std::string_view text(reinterpret_cast<const char*>(data + 1), size - 1);
  if (data[0] % 2 == 1) {
    Check(profiles::WithAddedJson(production, text, "added.json"));
    return 0;
  }
  std::size_t lines = 0;
  for (const std::string_view line : base::Split(text, '\n')) {
    if (++lines > kMostLines) {
      break;
    }
    const bool change = line.find('=') < line.find(' ');
    const std::string words(line);
    const auto result =
        change ? profiles::WithChange(production, words) : profiles::WithAdded(production, words);
    if (Check(result)) {
      production = *result;
    }
  }
  return 0;
}
