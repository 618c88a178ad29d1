// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/headroom.h"

#include <algorithm>
#include <cmath>
#include <string_view>

#include <fmt/format.h>

#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::Mark;

/// Unit of the whole pipeline's speed; in a table it would cost a column.
constexpr std::string_view kTimesRealTime = "x real time";

bool Known(const Headroom& row) {
  return row.capacity && row.headroom_percent && !std::isnan(*row.headroom_percent);
}

std::string WordFor(Basis basis) {
  switch (basis) {
    case Basis::kMeasured:
      return "measured";
    case Basis::kComputed:
      return "calculated";
    case Basis::kRead:
      return "read from the PC";
    case Basis::kAssumed:
      break;
  }
  return "assumed";
}

/// Each once; of what is measured by its resource, of what is assumed with its item.
std::string NamesOf(const std::vector<Headroom>& rows, Basis basis) {
  std::vector<std::string> names;
  std::string text;
  for (const Headroom& row : rows) {
    const bool assumed = basis == Basis::kAssumed;
    const std::string name = RowName(row.resource, assumed ? row.item : "");
    if ((row.capacity || assumed) && row.basis == basis &&
        std::find(names.begin(), names.end(), name) == names.end()) {
      names.push_back(name);
      text += (text.empty() ? "" : ", ") + name;
    }
  }
  return text;
}

}  // namespace

show::Cell StandingOf(const Headroom& row) {
  if (!Known(row)) {
    return {"unproven", Mark::kUnknown};
  }
  if (*row.headroom_percent < 0) {
    return {"overloaded", Mark::kStop};
  }
  if (*row.headroom_percent < row.margin_percent) {
    return {"below the margin", Mark::kWarn};
  }
  return {"ok", Mark::kGood};
}

HeadroomTexts TextsOf(const Headroom& row, const std::string& unit) {
  return {
      RowName(row.resource, row.item),
      NeededText(row, unit),
      AvailableText(row, unit),
      row.headroom_percent ? FormatHeadroomPercent(*row.headroom_percent, row.margin_percent) : "?",
      FormatMarginPercent(row.margin_percent),
      StandingOf(row)};
}

std::string BasisText(const Headroom& row) {
  if (Known(row)) {
    return WordFor(row.basis);
  }
  return row.basis == Basis::kAssumed ? "unproven: assumed" : "unproven";
}

show::Table HeadroomTable(const Document& document, std::size_t most) {
  show::Table table{"Headroom, tightest first",
                    {{"Resource", false, false, 12},
                     {"Needed", true},
                     {"Available", true},
                     {"Headroom", true},
                     {"Margin", true},
                     {"Standing", false, false, 16}},
                    {}};
  const std::vector<Headroom>& rows = document.headroom;
  bool speeds = false;
  for (std::size_t at = 0; at < std::min(rows.size(), most); ++at) {
    const bool speed = rows[at].unit == kTimesRealTime;
    speeds = speeds || speed;
    const HeadroomTexts texts = TextsOf(rows[at], speed ? "x" : rows[at].unit);
    table.rows.push_back({{texts.name},
                          {texts.needed},
                          {texts.available},
                          {texts.headroom},
                          {texts.margin},
                          texts.standing});
  }
  if (rows.size() > most) {
    table.caption += fmt::format(" ({} of {} rows)", most, rows.size());
  }
  if (speeds) {
    table.caption += "; x: times real time";
  }
  return table;
}

std::string TightestText(const std::vector<Headroom>& rows) {
  constexpr std::size_t kMostNamed = 3;
  std::vector<Resource> named;
  std::string text;
  for (const Headroom& row : rows) {
    const bool again = std::find(named.begin(), named.end(), row.resource) != named.end();
    if (!row.headroom_percent || again || named.size() == kMostNamed) {
      continue;
    }
    text +=
        fmt::format("{}{} {} (margin {})", named.empty() ? "" : ", ", base::WordOf(row.resource),
                    FormatSpare(*row.headroom_percent, row.margin_percent, row.demand,
                                row.capacity.value_or(0), row.unit),
                    FormatMarginPercent(row.margin_percent));
    named.push_back(row.resource);
  }
  return named.empty() ? "not known: nothing was measured against its limit" : text;
}

std::string BasisLine(const std::vector<Headroom>& rows) {
  std::string text;
  for (const Basis basis : {Basis::kMeasured, Basis::kComputed, Basis::kRead, Basis::kAssumed}) {
    const std::string names = NamesOf(rows, basis);
    if (!names.empty()) {
      text += (text.empty() ? "" : "; ") + WordFor(basis) + ": " + names;
    }
  }
  return text;
}

}  // namespace report
