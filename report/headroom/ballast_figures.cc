// SPDX-License-Identifier: Apache-2.0
//
// From ballast runs to figures, and what they do to the rows of headroom.

#include "report/headroom/ballast_figures.h"

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "report/headroom/headroom.h"
#include "report/words/quantities.h"

namespace report {
namespace {

double HeadroomBy(double extra, double own) {
  return extra + own > 0 ? HeadroomPercent(own, extra + own) : 0;
}

Resource ResourceOf(const bench::BallastRun& run) {
  return run.kind == bench::LoadKind::kMemory ? Resource::kMemoryTraffic
         : run.kind == bench::LoadKind::kDisk ? Resource::kDisk
                                              : Resource::kCpu;
}

/// The row that a run stands beside: of its resource and folder, or the only one where there is
/// one run too (its folder may be named in two ways). Null for memory traffic.
Headroom* RowOf(const Facts& facts, const bench::BallastRun& run, std::vector<Headroom>& rows) {
  std::vector<Headroom*> same;
  for (Headroom& row : rows) {
    if (row.resource == ResourceOf(run)) {
      same.push_back(&row);
    }
  }
  const auto& runs = facts.results().ballast;
  const auto of_kind = std::count_if(runs.begin(), runs.end(),
                                     [&](const auto& one) { return one.kind == run.kind; });
  if (same.size() == 1 && of_kind == 1) {
    return same.front();
  }
  const auto named = std::find_if(same.begin(), same.end(), [&](const Headroom* row) {
    return row->item == base::Printable(run.item);
  });
  return named == same.end() ? nullptr : *named;
}

/// By arithmetic alone: before ballast has a say.
std::vector<Headroom> ArithmeticRows(const Facts& facts, const bench::BallastRun& run) {
  std::vector<Headroom> rows;
  if (run.kind == bench::LoadKind::kCpu) {
    CpuHeadroom(facts, rows);
  } else if (run.kind == bench::LoadKind::kDisk) {
    StorageHeadroom(facts, rows);
  }
  return rows;
}

std::string LowText(const BallastFigure& figure) {
  return FormatHeadroomPercent(*figure.low_percent, figure.margin_percent.value_or(0));
}

std::string HighText(const BallastFigure& figure) {
  return FormatDroppedAtPercent(*figure.high_percent, figure.margin_percent.value_or(0));
}

std::string RangeSentence(const BallastFigure& figure) {
  return figure.low_percent && figure.high_percent
             ? fmt::format("between {} and {}", LowText(figure), HighText(figure))
             : BallastRange(figure);
}

std::string Standing(const BallastFigure& figure, const bench::BallastRun& run) {
  std::string text = RangeSentence(figure);
  if (figure.margin_percent) {
    text += fmt::format(": the margin of {} {}", FormatMarginPercent(*figure.margin_percent),
                        KeepsMargin(figure)    ? "stays free"
                        : MissesMargin(figure) ? "does not stay free"
                                               : "lies within it and is not proven");
  }
  if (!run.complete && !run.stopped_because.empty()) {
    text += "; the search was cut short: " + base::Printable(run.stopped_because);
  }
  return text;
}

BallastFigure FigureOf(const Facts& facts, const bench::BallastRun& run) {
  BallastFigure figure;
  figure.resource = ResourceOf(run);
  figure.item = base::Printable(run.item);
  figure.unit = run.unit;
  figure.own = run.own_use;
  figure.carried = run.carried;
  figure.dropped_at = run.dropped_at;
  if (run.carried) {
    figure.low_percent = HeadroomBy(*run.carried, run.own_use);
  }
  if (run.dropped_at) {
    figure.high_percent = HeadroomBy(*run.dropped_at, run.own_use);
  }
  std::vector<Headroom> rows = ArithmeticRows(facts, run);
  if (const Headroom* row = RowOf(facts, run, rows)) {
    figure.arithmetic_percent = row->headroom_percent;
    figure.margin_percent = row->margin_percent;
  }
  figure.standing = Standing(figure, run);
  figure.why = WhyBallastDiffers(facts, run, figure);
  return figure;
}

/// What ballast allows a row to say; nothing when it knows no better.
std::optional<double> Ruling(const bench::BallastRun& run, const BallastFigure& figure) {
  if (!run.dropped_at) {
    return std::nullopt;  // nothing dropped: the limit lies above what was tried
  }
  return run.complete ? figure.low_percent.value_or(0) : *figure.high_percent;
}

void Lower(Headroom& row, double percent, const BallastFigure& figure) {
  constexpr double kNothingLeft = 1e-9;
  const double arithmetic = *row.headroom_percent;
  const double share_used = std::max(1 - percent / 100, kNothingLeft);
  SetCapacity(row, row.demand / share_used, Basis::kMeasured);
  row.source += fmt::format(
      "; the lower figure counts: {} measured with extra load beside the production, where the "
      "calculated one "
      "is {}",
      RangeSentence(figure), FormatHeadroomPercent(arithmetic, row.margin_percent));
}

}  // namespace

std::string BallastRange(const BallastFigure& figure) {
  if (!figure.low_percent) {
    return figure.high_percent ? "less than " + HighText(figure) : "not known";
  }
  return figure.high_percent ? LowText(figure) + " to " + HighText(figure)
                             : "at least " + LowText(figure);
}

bool KeepsMargin(const BallastFigure& figure) {
  return figure.margin_percent && figure.low_percent.value_or(0) >= *figure.margin_percent;
}

bool MissesMargin(const BallastFigure& figure) {
  return figure.margin_percent && !KeepsMargin(figure) && figure.high_percent &&
         *figure.high_percent <= *figure.margin_percent;
}

std::vector<BallastFigure> BallastFigures(const Facts& facts) {
  std::vector<BallastFigure> figures;
  for (const bench::BallastRun& run : facts.results().ballast) {
    if (run.carried || run.dropped_at) {
      figures.push_back(FigureOf(facts, run));
    }
  }
  return figures;
}

void LowerByBallast(const Facts& facts, std::vector<Headroom>& rows) {
  for (const bench::BallastRun& run : facts.results().ballast) {
    if (!run.carried && !run.dropped_at) {
      continue;
    }
    const BallastFigure figure = FigureOf(facts, run);
    const auto percent = Ruling(run, figure);
    Headroom* row = RowOf(facts, run, rows);
    if (percent && row != nullptr && row->headroom_percent && row->demand > 0 &&
        *percent < *row->headroom_percent) {
      Lower(*row, *percent, figure);
    }
  }
}

}  // namespace report
