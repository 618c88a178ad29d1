// SPDX-License-Identifier: Apache-2.0
//
// What the page is told, before it becomes HTTP.

#pragma once

#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "base/result.h"

namespace cli {

/// Keys keep their order.
using Json = nlohmann::ordered_json;

/// How far the browser trusts what it gets.
enum class Trust {
  kData,    // nothing in it is drawn or run
  kPage,    // our own page: scripts of our own files only
  kReport,  // a file of one piece, apart from everything else: it cannot ask us for anything
};

struct Answer {
  int status = 200;
  std::string body;
  std::string type = "application/json";
  Trust trust = Trust::kData;
  std::string download_as;  // empty: shown
};

Answer JsonAnswer(const Json& json, int status = 200);
/// {"error": {"where", "detail"}}: 404 not there, 409 not now, 500 the machine failed, else 400.
Answer ErrorAnswer(const base::Error& error);
/// The same of the first, with all others in order in its member "more"; at least one.
Answer MistakesAnswer(const std::vector<base::Error>& mistakes);
/// The two members; `where` without the name of what was parsed, where it opens with that.
Json ErrorJson(const base::Error& error);

}  // namespace cli
