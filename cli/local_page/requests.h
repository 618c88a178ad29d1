// SPDX-License-Identifier: Apache-2.0
//
// What the page asks for, read from the bodies of its requests. Pure.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace cli {

/// Every error's `where` is a JSON pointer into the body, or "line N, column N".
struct RunOrder {
  std::string profile;    // name of a stored one
  std::string length;     // "quick", "standard", "full"
  std::string record_to;  // absolute folder; empty: the result's own
};
/// `understood` must be true in it: the cautions were read.
base::Result<RunOrder> ParseRunOrder(std::string_view body);

struct SizeQuestion {
  std::string result;
  std::vector<std::string> added;
  std::vector<std::string> changes;
};
base::Result<SizeQuestion> ParseSizeQuestion(std::string_view body);

struct CheckQuestion {
  std::string profile_text;
  std::string record_to;  // absolute folder; empty: the page's own
  bool survey = false;    // also look at this PC
};
base::Result<CheckQuestion> ParseCheckQuestion(std::string_view body);

}  // namespace cli
