// SPDX-License-Identifier: Apache-2.0
//
// Comparisons and rankings as a page of one file, without any script.

#include "report/compare/compare.h"

#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <kainjow/mustache.hpp>

#include "report/compare/words.h"
#include "report/fields/words.h"
#include "report/page_files.h"
#include "report/show/html/pieces.h"

namespace report {
namespace {

/// One section: a sentence, a table, a list; what is empty is not shown.
struct PageSection {
  std::string id;
  std::string name;
  std::string says;
  Table table;
  std::vector<std::string> lines;
};

View ToView(const PageSection& section) {
  View view("id", View(section.id));
  view.set("name", View(section.name));
  view.set("says", section.says.empty() ? View(false) : View(section.says));
  view.set("table", report::ToView(section.table));
  view.set("has_lines", View(!section.lines.empty()));
  view.set("lines", report::ToView(section.lines));
  return view;
}

std::string Render(const std::string& heading, const std::string& headline,
                   const std::vector<PageSection>& sections, const std::string& program_version) {
  View page;
  page.set("part_table",
           View(kainjow::mustache::partial([] { return std::string(page_files::kTable); })));
  page.set("page_css", View(std::string(page_files::kPageCss)));
  page.set("print_css", View(std::string(page_files::kPrintCss)));
  page.set("title", View("rigproof: " + heading));
  page.set("heading", View(heading));
  page.set("headline", View(headline));
  page.set("program_version", View(program_version));
  ViewList list;
  for (const PageSection& section : sections) {
    if (!section.table.rows.empty() || !section.lines.empty() || !section.says.empty()) {
      list.emplace_back(ToView(section));
    }
  }
  page.set("sections", View(list));
  kainjow::mustache::mustache layout{std::string(page_files::kComparison)};
  layout.set_custom_escape(EscapeForPage);
  return layout.render(page);
}

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

Mark MarkOf(Verdict verdict) {
  switch (verdict) {
    case Verdict::kReady:
      return Mark::kGood;
    case Verdict::kTight:
      return Mark::kWarn;
    case Verdict::kShort:
      return Mark::kStop;
    case Verdict::kUnproven:
      break;
  }
  return Mark::kUnknown;
}

Cell VerdictCell(const ComparedResult& result) {
  return {std::string(stored::WordOf(result.verdict)) + (result.complete ? "" : ", incomplete"),
          MarkOf(result.verdict)};
}

Table ResultsTable(const Comparison& comparison) {
  Table table;
  table.caption = "The two results";
  table.columns = {{""},   {"File"},   {"Verdict"}, {"Production"},
                   {"PC"}, {"System"}, {"Length"},  {"Begun"}};
  const auto add = [&table](const char* lead, const ComparedResult& result) {
    table.rows.push_back({{lead},
                          {result.name},
                          VerdictCell(result),
                          {result.production},
                          {result.machine},
                          {result.system},
                          {result.length},
                          {result.started_at}});
  };
  add("Before", comparison.before);
  add("After", comparison.after);
  return table;
}

Table ChangesTable(const std::string& caption, const std::vector<ChangedFact>& changes) {
  Table table;
  table.caption = caption;
  table.columns = {{"Part"}, {"What"}, {"Before"}, {"After"}};
  for (const ChangedFact& change : changes) {
    table.rows.push_back({{change.area}, {change.what}, {change.before}, {change.after}});
  }
  return table;
}

Table FiguresTable(const std::string& caption, const Comparison& comparison,
                   const std::string& group) {
  Table table;
  table.caption = caption;
  table.columns = {{"Figure"},       {"Before", true},     {"After", true},
                   {"Change", true}, {"95 %", true},       {"Chance", true},
                   {"Standing"},     {"Why", false, true}, {"Test"}};
  for (const ComparedFigure& figure : comparison.figures) {
    if (figure.group == group) {
      table.rows.push_back({{FigureName(figure)},
                            {FigureValue(figure, figure.before)},
                            {FigureValue(figure, figure.after)},
                            {ChangeText(figure)},
                            {OrDash(IntervalText(figure))},
                            {OrDash(ChanceText(figure))},
                            {StandingText(figure.standing), MarkOf(figure.standing)},
                            {OrDash(figure.why)},
                            {OrDash(figure.test)}});
    }
  }
  return table;
}

Table RanksTable(const Ranking& ranking) {
  Table table;
  table.caption = "Best first";
  table.columns = {{"Rank", true},
                   {"Result"},
                   {"PC"},
                   {"Verdict"},
                   {"Tightest"},
                   {"Frames dropped"},
                   {"Full-speed run, x real time", true},
                   {"Speed against the rank above"},
                   {"More sources", true},
                   {"Production"},
                   {"Begun"}};
  for (const RankedResult& result : ranking.results) {
    table.rows.push_back(
        {{std::to_string(result.rank)},
         {result.result.name},
         {result.result.machine},
         VerdictCell(result.result),
         {TightestText(result)},
         {LostText(result)},
         {SpeedText(result)},
         {OrDash(AgainstText(result)),
          MarkOf(result.rank > 1 ? result.against_above : Standing::kSame)},
         {result.more_sources ? std::to_string(*result.more_sources) : "not known"},
         {fmt::format("{}: {}", result.production, result.result.production)},
         {result.result.started_at}});
  }
  return table;
}

Table UnreadTable(const Ranking& ranking) {
  Table table;
  table.caption = "Files that gave no result";
  table.columns = {{"File"}, {"Why"}};
  for (const UnreadResult& unread : ranking.not_read) {
    table.rows.push_back({{unread.name}, {unread.why}});
  }
  return table;
}

}  // namespace

std::string ComparisonPage(const Comparison& comparison, const std::string& program_version) {
  const bool same_pc = comparison.machines.empty();
  return Render(
      "Before and after", comparison.headline,
      {{"results", "Results", "", ResultsTable(comparison), {}},
       {"productions",
        "The productions are not the same",
        "",
        ChangesTable("How the profiles differ", comparison.productions),
        {}},
       {"headroom",
        "Headroom",
        "",
        FiguresTable("Headroom of each resource", comparison, "headroom"),
        {}},
       {"room", "More sources", "", FiguresTable("Room for more sources", comparison, "room"), {}},
       {"measured",
        "Measured",
        "",
        FiguresTable("Rehearsals, by one-second windows", comparison, "rehearsal"),
        {}},
       {"disks", "Disks", "", FiguresTable("Sustained writing", comparison, "disk"), {}},
       {"costs", "Costs", "", FiguresTable("One figure each", comparison, "costs"), {}},
       {"machine",
        "What changed on the PC",
        same_pc ? "Nothing that the inventory shows." : "",
        ChangesTable("Parts, drivers, links and settings", comparison.machines),
        {}},
       {"cautions", "Take care", "", {}, comparison.cautions},
       {"method", "How", "", {}, comparison.method}},
      program_version);
}

std::string RankingPage(const Ranking& ranking, const std::string& program_version) {
  return Render("Results compared", ranking.headline,
                {{"ranks", "Ranking", "", RanksTable(ranking), {}},
                 {"unread", "Not read", "", UnreadTable(ranking), {}},
                 {"cautions", "Take care", "", {}, ranking.cautions},
                 {"method", "How", "", {}, ranking.method}},
                program_version);
}

}  // namespace report
