// SPDX-License-Identifier: Apache-2.0
//
// Comparisons and rankings on a terminal.

#include "report/compare/compare.h"

#include <algorithm>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "report/compare/words.h"
#include "report/fields/words.h"
#include "report/show/terminal/table.h"
#include "report/show/terminal/text.h"
#include "report/words/quantities.h"

namespace report {
namespace {

constexpr std::size_t kMostChanges = 40;

Tone ToneOf(Standing standing) {
  switch (standing) {
    case Standing::kBetter:
      return Tone::kGood;
    case Standing::kWorse:
      return Tone::kStop;
    case Standing::kUnsure:
      return Tone::kWarn;
    case Standing::kSame:
    case Standing::kNotTold:
      break;
  }
  return Tone::kPlain;
}

void PutResult(TerminalPage& page, const char* lead, const ComparedResult& result) {
  page.Beside(
      0, {lead, Tone::kStrong}, 8,
      {fmt::format("{}: {} ({}{}), {}", result.name, stored::WordOf(result.verdict), result.length,
                   result.complete ? "" : ", incomplete", result.started_at)});
  page.Beside(8, {}, 0, {result.machine + "; " + result.system, Tone::kDim});
}

void PutChanges(TerminalPage& page, const char* heading, const std::vector<ChangedFact>& changes,
                const char* none) {
  page.Heading(heading);
  if (changes.empty()) {
    page.Paragraph(2, {none});
  }
  for (std::size_t i = 0; i < std::min(changes.size(), kMostChanges); ++i) {
    const ChangedFact& change = changes[i];
    page.Beside(
        2, {"-"}, 2,
        {fmt::format("{} {}: {} -> {}", change.area, change.what, change.before, change.after)});
  }
  if (changes.size() > kMostChanges) {
    page.Paragraph(2, {fmt::format("and {} more: --json has them", changes.size() - kMostChanges)});
  }
}

/// Item, interval, chance and why, on a line under the row.
std::string Below(const ComparedFigure& figure) {
  std::string text = figure.item;
  const auto add = [&text](const std::string& more) {
    text += (text.empty() || more.empty() ? "" : "; ") + more;
  };
  const std::string interval = IntervalText(figure);
  if (!interval.empty()) {
    add(fmt::format("95 %: {}; chance {}", interval, ChanceText(figure)));
  }
  if (figure.standing != Standing::kSame) {
    add(figure.why);
  }
  return text;
}

void PutGroup(TerminalPage& page, const char* heading, const Comparison& comparison,
              const std::vector<std::string>& groups, bool only_changes) {
  TerminalTable table;
  table.columns = {
      {"", false, 16}, {"before", true}, {"after", true}, {"change", true}, {"", false}};
  int same = 0;
  for (const ComparedFigure& figure : comparison.figures) {
    if (std::find(groups.begin(), groups.end(), figure.group) == groups.end()) {
      continue;
    }
    if (only_changes && figure.standing == Standing::kSame) {
      ++same;
      continue;
    }
    table.rows.push_back({{figure.what},
                          {FigureValue(figure, figure.before)},
                          {FigureValue(figure, figure.after)},
                          {ChangeText(figure)},
                          {StandingText(figure.standing), ToneOf(figure.standing)}});
    table.below.push_back(Below(figure));
  }
  if (table.rows.empty() && same == 0) {
    return;
  }
  page.Heading(heading);
  PutTable(page, 2, table);
  if (same > 0) {
    page.Paragraph(2, {fmt::format("{}no real difference in {}", table.rows.empty() ? "" : "and ",
                                   Plural(same, "figure"))});
  }
}

void PutLines(TerminalPage& page, const char* heading, const std::vector<std::string>& lines) {
  if (lines.empty()) {
    return;
  }
  page.Heading(heading);
  for (const std::string& line : lines) {
    page.Beside(2, {"-"}, 2, {line});
  }
}

}  // namespace

std::string WriteComparison(const Comparison& comparison, const TerminalStyle& style) {
  TerminalPage page(style);
  page.Paragraph(0, {comparison.headline, Tone::kStrong});
  page.Blank();
  PutResult(page, "before", comparison.before);
  PutResult(page, "after", comparison.after);
  if (!comparison.productions.empty()) {
    PutChanges(page, "The productions are not the same", comparison.productions, "");
  }
  PutGroup(page, "Headroom", comparison, {"headroom", "room"}, false);
  PutGroup(page, "Measured", comparison, {"rehearsal", "disk"}, false);
  PutGroup(page, "Costs", comparison, {"costs"}, true);
  PutChanges(page, "What changed on the PC", comparison.machines,
             "nothing that the inventory shows");
  PutLines(page, "Take care", comparison.cautions);
  PutLines(page, "How", comparison.method);
  return page.text();
}

std::string WriteRanking(const Ranking& ranking, const TerminalStyle& style) {
  TerminalPage page(style);
  page.Paragraph(0, {ranking.headline, Tone::kStrong});
  page.Blank();
  TerminalTable table;
  table.columns = {{"result", false, 14},
                   {"verdict", false, 8},
                   {"tightest", false, 12},
                   {"full-speed run", true},
                   {"more sources", true}};
  for (const RankedResult& result : ranking.results) {
    const bool one = ranking.productions.size() <= 1;
    table.rows.push_back(
        {{fmt::format("{}. {}", result.rank, result.result.name)},
         {std::string(stored::WordOf(result.result.verdict)), Tone::kStrong},
         {TightestText(result)},
         {SpeedText(result)},
         {result.more_sources ? std::to_string(*result.more_sources) : "not known"}});
    std::string below = result.result.machine + "; dropped " + LostText(result);
    below += result.rank > 1 ? "; " + AgainstText(result) : "";
    below +=
        one ? "" : fmt::format("; production {}: {}", result.production, result.result.production);
    table.below.push_back(below);
  }
  PutTable(page, 0, table);
  for (const UnreadResult& unread : ranking.not_read) {
    page.Beside(0, {"not read", Tone::kWarn}, 10, {unread.name + ": " + unread.why});
  }
  PutLines(page, "Take care", ranking.cautions);
  PutLines(page, "How", ranking.method);
  return page.text();
}

}  // namespace report
