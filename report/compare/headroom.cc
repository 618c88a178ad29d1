// SPDX-License-Identifier: Apache-2.0
//
// Headroom of every resource in two results, and room for more sources.

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "report/compare/figures.h"
#include "report/fields/words.h"

namespace report {
namespace {

/// The tested figure that a measured row rests on; null where none is.
const ComparedFigure* MadeOf(const Headroom& row, const std::vector<ComparedFigure>& figures) {
  const char* const what = row.resource == Resource::kCpu       ? "CPU in use"
                           : row.resource == Resource::kEncoder ? "full-speed run"
                           : row.resource == Resource::kDisk    ? "write rate"
                                                                : "";
  const auto found = std::find_if(figures.begin(), figures.end(), [what](const auto& figure) {
    return figure.what == what && figure.p_value.has_value();
  });
  return found == figures.end() ? nullptr : &*found;
}

/// Two rows that arithmetic and readings made differ as far as they differ.
bool ChanceHasNoPart(const Headroom& row) {
  return row.basis != Basis::kMeasured;
}

void Decide(const Headroom& was, const Headroom& is, const std::vector<ComparedFigure>& figures,
            ComparedFigure& figure) {
  constexpr double kOnePoint = 1;  // percent of capacity; less is no change to anybody
  if (was.resource == is.resource && !ChanceHasNoPart(is)) {
    if (const ComparedFigure* const made_of = MadeOf(is, figures)) {
      const bool same = made_of->standing == Standing::kSame;
      figure.standing = same ? Standing::kSame : ByDirection(figure);
      figure.why = fmt::format("as \"{}\": {}", made_of->what, made_of->why);
      return;
    }
    DecideOneFigure(figure);
    return;
  }
  const bool same = std::abs(*figure.change) < kOnePoint;
  figure.standing = same ? Standing::kSame : ByDirection(figure);
  figure.why = fmt::format("{} in both: chance has no part in it", stored::WordOf(is.basis));
}

}  // namespace

void CompareRoom(const Document& before, const Document& after,
                 std::vector<ComparedFigure>& figures) {
  if (!before.capacity || !after.capacity || before.capacity->interval.size() < 2 ||
      after.capacity->interval.size() < 2) {
    return;
  }
  ComparedFigure figure =
      NewFigure("room", "more sources that fit", after.capacity->like, "sources", Better::kHigher);
  figure.before = before.capacity->added_sources_predicted;
  figure.after = after.capacity->added_sources_predicted;
  SetChange(figure);
  const auto& was = before.capacity->interval;
  const auto& is = after.capacity->interval;
  const bool apart = is[0] > was[1] || is[1] < was[0];
  figure.standing = apart ? ByDirection(figure) : Standing::kSame;
  figure.why =
      fmt::format("predicted {} to {} before, {} to {} after", was[0], was[1], is[0], is[1]);
  figures.push_back(std::move(figure));
}

void CompareHeadroom(const Document& before, const Document& after,
                     std::vector<ComparedFigure>& figures) {
  std::vector<ComparedFigure> rows;
  // A disk or a space goes by its resource: its folder may have another name.
  const auto key = [](const Headroom& row) {
    const bool folder = row.resource == Resource::kDisk || row.resource == Resource::kSpace;
    return folder ? RowName(row.resource, "") : RowName(row.resource, row.item);
  };
  for (const auto& [was, is] : Pairs(before.headroom, after.headroom, key)) {
    const Headroom& row = is != nullptr ? *is : *was;
    ComparedFigure figure =
        NewFigure("headroom", RowName(row.resource, ""), row.item, "%", Better::kHigher);
    figure.before = was == nullptr ? std::nullopt : was->headroom_percent;
    figure.after = is == nullptr ? std::nullopt : is->headroom_percent;
    SetChange(figure);
    if (figure.change) {
      Decide(*was, *is, figures, figure);
    } else {
      figure.why = was == nullptr || is == nullptr ? "only one of them asks for it"
                                                   : "not known in one of them";
    }
    rows.push_back(std::move(figure));
  }
  figures.insert(figures.begin(), rows.begin(), rows.end());
}

}  // namespace report
