// SPDX-License-Identifier: Apache-2.0
//
// Results set against each other, written in every form.

#pragma once

#include <string>
#include <vector>

#include "report/compare/compare.h"

namespace cli {

/// Text for the terminal, for programs and for the browser.
struct WrittenComparison {
  std::string text;
  std::string json;
  std::string page;
};

WrittenComparison BeforeAndAfter(const report::NamedDocument& before,
                                 const report::NamedDocument& after);
WrittenComparison Ranked(std::vector<report::RankEntry> entries,
                         std::vector<report::UnreadResult> not_read);

}  // namespace cli
