// SPDX-License-Identifier: Apache-2.0

#include "cli/runs/comparing.h"

#include <utility>

#include "cli/options/version.h"
#include "cli/system/output_style.h"

namespace cli {

WrittenComparison BeforeAndAfter(const report::NamedDocument& before,
                                 const report::NamedDocument& after) {
  const report::Comparison comparison = report::Compare(before, after);
  return {report::WriteComparison(comparison, OutputStyle()), report::ComparisonJson(comparison),
          report::ComparisonPage(comparison, ProgramVersion())};
}

WrittenComparison Ranked(std::vector<report::RankEntry> entries,
                         std::vector<report::UnreadResult> not_read) {
  const report::Ranking ranking = report::Rank(std::move(entries), std::move(not_read));
  return {report::WriteRanking(ranking, OutputStyle()), report::RankingJson(ranking),
          report::RankingPage(ranking, ProgramVersion())};
}

}  // namespace cli
