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
#include "report/words/figures.h"

namespace report {
namespace {

// What one page of A4 or Letter holds; the report has the rest.
constexpr std::size_t kMostRows = 12;
constexpr std::size_t kMostOpen = 7;
constexpr std::size_t kMostCautions = 3;
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

std::string StandingText(const Headroom& row) {
  if (!row.capacity || !row.headroom_percent) {
    return "unproven";
  }
  if (*row.headroom_percent < 0) {
    return "more is asked than there is";
  }
  return *row.headroom_percent < row.margin_percent ? "margin not kept" : "margin kept";
}

Table HeadroomTable(const Document& document) {
  Table table{"Headroom, tightest first",
              {{"Resource", false},
               {"Asked", true},
               {"Sustained", true},
               {"To spare", true},
               {"Keep", true},
               {"Standing", false}},
              {}};
  for (const Headroom& row : document.headroom) {
    if (table.rows.size() == kMostRows) {
      table.caption += fmt::format(" ({} of {} rows)", kMostRows, document.headroom.size());
      break;
    }
    const bool proven = row.capacity && row.headroom_percent;
    table.rows.push_back({{Line(RowName(row.resource, row.item))},
                          {NeededText(row, row.unit)},
                          {AvailableText(row, row.unit)},
                          {proven ? FormatHeadroomPercent(*row.headroom_percent, row.margin_percent)
                                  : std::string("?")},
                          {FormatMarginPercent(row.margin_percent)},
                          {StandingText(row)}});
  }
  return table;
}

std::vector<std::string> OpenPoints(const Document& document) {
  std::vector<std::string> open;
  for (const Finding& finding : document.findings) {
    if (finding.severity != Severity::kNote) {
      open.push_back((finding.severity == Severity::kStop ? "Stop: " : "Warn: ") + finding.title);
    }
  }
  for (const Headroom& row : document.headroom) {
    if (!row.capacity) {
      open.push_back("Unproven: " + RowName(row.resource, row.item));
    }
  }
  return open;
}

show::Facts SheetFacts(const Document& document) {
  const Evidence& evidence = document.evidence;
  show::Facts facts;
  facts.Add("Production", Line(evidence.profile.name));
  facts.Add("Lasts", base::FormatSeconds(60.0 * evidence.profile.duration_minutes));
  facts.Add(
      "Asked",
      fmt::format("{}, {}, program {} at {}",
                  Plural(static_cast<std::int64_t>(evidence.profile.sources.size()), "source"),
                  Plural(static_cast<std::int64_t>(evidence.profile.outputs.size()), "output"),
                  profiles::ToText(evidence.profile.program_raster),
                  base::ToShortText(evidence.profile.program_rate)));
  facts.Add("PC", evidence.inventory.cpu.model);
  facts.Add("System", evidence.inventory.settings.os);
  facts.Add("Checked", evidence.started_at);
  facts.Add("Length of check", evidence.length);
  facts.Add("Program", "rigproof " + evidence.program_version);
  return facts;
}

}  // namespace

View SignOffView(const Document& document, const View& summary) {
  View view("facts", ToView(SheetFacts(document)));
  for (const char* const word :
       {"verdict_word", "verdict_mark", "verdict_sign", "verdict_meaning"}) {
    view.set(word, *summary.get(word));
  }
  view.set("headline", View(Line(document.headline)));
  view.set("rows", ToView(HeadroomTable(document)));
  const std::vector<std::string> open = OpenPoints(document);
  view.set("has_open", View(!open.empty()));
  view.set("open", ToView(First(open, kMostOpen)));
  view.set("has_cautions", View(!document.cautions.empty()));
  view.set("cautions", ToView(First(document.cautions, kMostCautions)));
  view.set("drops", View(Line(document.proof
                                  ? fmt::format("{} pictures lost in {} of rehearsal",
                                                FormatCount(document.proof->lost_pictures),
                                                base::FormatSeconds(document.proof->judged_seconds))
                                  : std::string("no rehearsal was judged"))));
  return view;
}

}  // namespace report
