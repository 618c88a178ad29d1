// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/comparison.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "report/compare/compare.h"
#include "report/compare/words.h"
#include "report/fields/words.h"
#include "report/show/rows/verdict.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::Cell;
using show::Mark;
using show::Table;
using show::When;

Mark MarkOf(Standing standing) {
  switch (standing) {
    case Standing::kBetter:
      return Mark::kGood;
    case Standing::kWorse:
      return Mark::kStop;
    case Standing::kUnsure:
      return Mark::kWarn;
    case Standing::kNotTold:
      return Mark::kUnknown;
    case Standing::kSame:
      break;
  }
  return Mark::kNone;
}

std::string VerdictText(const ComparedResult& result) {
  return std::string(stored::WordOf(result.verdict)) + (result.complete ? "" : ", incomplete");
}

show::Part ResultsPart(const Comparison& comparison) {
  show::Facts facts;
  const auto add = [&facts](const char* lead, const ComparedResult& result) {
    facts.Add(lead, fmt::format("{}: {} ({}), started {}", result.name, VerdictText(result),
                                result.length, result.started_at));
    facts.Add("", fmt::format("{}; {}; {}", result.production, result.machine, result.system));
  };
  add("Before", comparison.before);
  add("After", comparison.after);
  return {"Results", {facts}};
}

void AddText(std::string& text, const std::string& more) {
  text += (text.empty() || more.empty() ? "" : "; ") + more;
}

/// Item, interval, chance, why and by which test.
std::string RestOf(const ComparedFigure& figure) {
  std::string text = figure.item;
  if (const std::string interval = IntervalText(figure); !interval.empty()) {
    AddText(text, fmt::format("95 %: {}; chance {}", interval, ChanceText(figure)));
  }
  if (figure.standing != Standing::kSame) {
    AddText(text, figure.why);
  }
  AddText(text, figure.test);
  return text;
}

Table EmptyTable(std::string caption, When when) {
  Table table{std::move(caption),
              {{"Figure", false, false, 16},
               {"Before", true},
               {"After", true},
               {"Change", true},
               {"Standing"}},
              {}};
  table.when = when;
  return table;
}

void AddRow(const ComparedFigure& figure, Table& table) {
  table.rows.push_back({{figure.what},
                        {FigureValue(figure, figure.before)},
                        {FigureValue(figure, figure.after)},
                        {ChangeText(figure)},
                        {StandingText(figure.standing), MarkOf(figure.standing)}});
  table.below.push_back(RestOf(figure));
}

/// `fold_same`: a terminal counts the figures that are the same, and leaves them out.
show::Part GroupPart(const std::string& title, const Comparison& comparison,
                     const std::vector<std::string>& groups, bool fold_same) {
  Table shown = EmptyTable(title, When::kAlways);
  Table same = EmptyTable(title + ", no real difference", When::kPage);
  for (const ComparedFigure& figure : comparison.figures) {
    if (std::find(groups.begin(), groups.end(), figure.group) != groups.end()) {
      AddRow(figure, fold_same && figure.standing == Standing::kSame ? same : shown);
    }
  }
  show::Part part{title, {}};
  if (!shown.rows.empty()) {
    part.blocks.emplace_back(shown);
  }
  if (!same.rows.empty()) {
    part.blocks.emplace_back(
        show::Note{{fmt::format("No real difference in {}.",
                                Plural(static_cast<std::int64_t>(same.rows.size()), "figure"))}});
    part.blocks.emplace_back(same);
  }
  return part;
}

/// "cpu 21 %".
std::string TightestText(const RankedResult& result) {
  if (!result.tightest_spare) {
    return "not known";
  }
  return result.tightest + " " +
         FormatHeadroomPercent(*result.tightest_spare, result.tightest_keep.value_or(0));
}

/// "1.42 (1.38 to 1.46)".
std::string SpeedText(const RankedResult& result) {
  if (!result.speed) {
    return "not run";
  }
  return result.speed_low ? fmt::format("{:.2f} ({:.2f} to {:.2f})", *result.speed,
                                        *result.speed_low, *result.speed_high)
                          : fmt::format("{:.2f}", *result.speed);
}

/// "0, at most 12 an hour".
std::string DroppedText(const RankedResult& result) {
  if (!result.lost || !result.lost_upper || !std::isfinite(*result.lost_upper)) {
    return "not run";
  }
  return fmt::format("{}, at most {} an hour", FormatCount(*result.lost),
                     FormatAtMost(*result.lost_upper));
}

/// Empty for the first.
std::string AgainstText(const RankedResult& result) {
  if (result.rank <= 1) {
    return "";
  }
  switch (result.against_above) {
    case Standing::kBetter:
      return "faster than the one above";
    case Standing::kWorse:
      return "slower than the one above";
    case Standing::kSame:
    case Standing::kUnsure:
    case Standing::kNotTold:
      break;
  }
  return StandingText(result.against_above);
}

show::Part RanksPart(const Ranking& ranking) {
  Table table{"Best first",
              {{"Result", false, false, 14},
               {"Verdict"},
               {"Tightest", false, false, 12},
               {"Full-speed run", true},
               {"More sources", true}},
              {}};
  for (const RankedResult& ranked : ranking.results) {
    const ComparedResult& result = ranked.result;
    table.rows.push_back(
        {{fmt::format("{}. {}", ranked.rank, result.name)},
         {std::string(stored::WordOf(result.verdict)), WordsOf(result.verdict).mark},
         {TightestText(ranked)},
         {SpeedText(ranked)},
         {ranked.more_sources ? std::to_string(*ranked.more_sources) : "not known"}});
    std::string rest = (result.complete ? "" : "incomplete; ") + result.machine + "; dropped " +
                       DroppedText(ranked);
    if (ranked.tightest_keep) {
      AddText(rest, fmt::format("margin of {} {}", ranked.tightest,
                                FormatMarginPercent(*ranked.tightest_keep)));
    }
    AddText(rest, AgainstText(ranked));
    if (ranking.productions.size() > 1) {
      AddText(rest, fmt::format("production {}: {}", ranked.production, result.production));
    }
    AddText(rest, "started " + result.started_at);
    table.below.push_back(rest);
  }
  return {"Ranking", {table}};
}

show::Part UnreadPart(const Ranking& ranking) {
  show::Lines lines;
  for (const UnreadResult& unread : ranking.not_read) {
    lines.lines.push_back({unread.name + ": " + unread.why, Mark::kWarn});
  }
  return lines.lines.empty() ? show::Part{} : show::Part{"Not read", {lines}};
}

}  // namespace

show::Part ChangesPart(std::string title, const std::vector<ChangedFact>& changes,
                       std::string none) {
  constexpr std::size_t kFirst = 40;
  show::Part part{std::move(title), {}};
  show::Lines lines{{}, kFirst};
  for (const ChangedFact& change : changes) {
    lines.lines.push_back(
        {fmt::format("{} {}: {} -> {}", change.area, change.what, change.before, change.after)});
  }
  if (!changes.empty()) {
    part.blocks.emplace_back(lines);
  } else if (!none.empty()) {
    part.blocks.emplace_back(show::Note{{std::move(none)}});
  }
  return part;
}

show::Sheet SheetOf(const Comparison& comparison) {
  return {
      "Before and after",
      {},
      comparison.headline,
      {ResultsPart(comparison),
       ChangesPart("The productions are not the same", comparison.productions),
       GroupPart("Headroom", comparison, {"headroom", "room"}, false),
       GroupPart("Measured", comparison, {"rehearsal", "disk"}, false),
       GroupPart("Costs", comparison, {"costs"}, true),
       ChangesPart("What changed on the PC", comparison.machines,
                   "Nothing that the inventory shows."),
       show::ListPart("Take care", comparison.cautions), show::ListPart("How", comparison.method)}};
}

show::Sheet SheetOf(const Ranking& ranking) {
  return {"Results compared",
          {},
          ranking.headline,
          {RanksPart(ranking), UnreadPart(ranking), show::ListPart("Take care", ranking.cautions),
           show::ListPart("How", ranking.method)}};
}

}  // namespace report
