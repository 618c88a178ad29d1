// SPDX-License-Identifier: Apache-2.0
//
// The sheet to sign: the verdict with what it rests on, on one page of paper.

#include <algorithm>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"
#include "report/show/rows/headroom.h"
#include "report/show/rows/verdict.h"
#include "report/words/quantities.h"

namespace report {
namespace {

// What one page of A4 or Letter holds; the report has the rest.
constexpr std::size_t kMostRows = 10;
constexpr std::size_t kMostOpen = 5;
constexpr std::size_t kMostCautions = 6;
constexpr std::size_t kLongestLine = 130;

std::string Line(const std::string& text) {
  std::string shown = base::Printable(text, 4000);
  if (shown.size() <= kLongestLine) {
    return shown;
  }
  std::size_t end = kLongestLine;
  while (end > 0 && (static_cast<unsigned char>(shown[end]) & 0xC0U) == 0x80U) {
    --end;  // whole characters only
  }
  return shown.substr(0, end) + "…";
}

/// The first ones, and how many more the report has.
std::vector<std::string> First(const std::vector<std::string>& all, std::size_t most) {
  std::vector<std::string> lines;
  for (std::size_t i = 0; i < std::min(most, all.size()); ++i) {
    lines.push_back(Line(all[i]));
  }
  if (all.size() > most) {
    lines.push_back(fmt::format("and {} more in the report", all.size() - most));
  }
  return lines;
}

show::Table Rows(const Document& document) {
  show::Table table = HeadroomTable(document, kMostRows);
  for (std::vector<show::Cell>& row : table.rows) {
    row.front().text = Line(row.front().text);
  }
  return table;
}

}  // namespace

View SignOffView(const Document& document, const View& summary) {
  View view("facts", ToView(TestFacts(document.evidence)));
  for (const char* const word :
       {"verdict_word", "verdict_mark", "verdict_sign", "verdict_meaning"}) {
    view.set(word, *summary.get(word));
  }
  view.set("headline", View(Line(document.headline)));
  view.set("rows", ToView(Rows(document)));
  const std::vector<std::string> open = OpenPoints(document);
  view.set("has_open", View(!open.empty()));
  view.set("open", ToView(First(open, kMostOpen)));
  view.set("has_cautions", View(!document.cautions.empty()));
  view.set("cautions", ToView(First(document.cautions, kMostCautions)));
  view.set("drops", View(Line(document.proof
                                  ? fmt::format("{} frames dropped in {} of rehearsal",
                                                FormatCount(document.proof->lost_pictures),
                                                base::FormatSeconds(document.proof->judged_seconds))
                                  : std::string("no rehearsal was judged"))));
  return view;
}

}  // namespace report
