// SPDX-License-Identifier: Apache-2.0

#include "cli/runs/comparing.h"

#include <utility>

#include "cli/options/version.h"
#include "cli/system/output_style.h"
#include "report/show/html/sheet.h"
#include "report/show/rows/comparison.h"
#include "report/show/terminal/blocks.h"

namespace cli {

WrittenComparison BeforeAndAfter(const report::NamedDocument& before,
                                 const report::NamedDocument& after) {
  const report::Comparison comparison = report::Compare(before, after);
  const report::show::Sheet sheet = report::SheetOf(comparison);
  return {report::WriteSheets({sheet}, OutputStyle()), report::ComparisonJson(comparison),
          report::SheetPage(sheet, ProgramVersion())};
}

WrittenComparison Ranked(std::vector<report::RankEntry> entries,
                         std::vector<report::UnreadResult> not_read) {
  const report::Ranking ranking = report::Rank(std::move(entries), std::move(not_read));
  const report::show::Sheet sheet = report::SheetOf(ranking);
  return {report::WriteSheets({sheet}, OutputStyle()), report::RankingJson(ranking),
          report::SheetPage(sheet, ProgramVersion())};
}

}  // namespace cli
