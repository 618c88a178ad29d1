// SPDX-License-Identifier: Apache-2.0

#include "report/compare/figures.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include <fmt/format.h>

#include "base/stats/percentile.h"
#include "base/stats/two_samples.h"
#include "report/words/quantities.h"

namespace report {
namespace {

constexpr double kSignificant = 0.05;

/// The larger of both, as what a share is taken of.
double Size(const ComparedFigure& figure) {
  return std::max(std::abs(figure.before.value_or(0)), std::abs(figure.after.value_or(0)));
}

void DecideOne(ComparedFigure& figure) {
  if (*figure.p_value > kSignificant) {
    figure.standing = Standing::kSame;
    figure.why = "no more than chance";
    return;
  }
  if (std::abs(figure.after.value_or(0) - figure.before.value_or(0)) <= kRunToRun * Size(figure)) {
    figure.standing = Standing::kSame;
    figure.why =
        fmt::format("less than the {:.0f} % that runs of one PC differ by", 100 * kRunToRun);
    return;
  }
  figure.standing = ByDirection(figure);
  figure.why = "more than chance and than runs of one PC differ by";
}

}  // namespace

ComparedFigure NewFigure(std::string group, std::string what, std::string item, std::string unit,
                         Better better) {
  ComparedFigure figure;
  figure.group = std::move(group);
  figure.what = std::move(what);
  figure.item = std::move(item);
  figure.unit = std::move(unit);
  figure.higher_is_better = better == Better::kHigher;
  return figure;
}

void SetChange(ComparedFigure& figure) {
  if (figure.before && figure.after) {
    figure.change = *figure.after - *figure.before;
  }
}

Standing ByDirection(const ComparedFigure& figure) {
  const bool higher = figure.after.value_or(0) > figure.before.value_or(0);
  return higher == figure.higher_is_better ? Standing::kBetter : Standing::kWorse;
}

void DecideOneFigure(ComparedFigure& figure) {
  SetChange(figure);
  if (!figure.change || !std::isfinite(*figure.change)) {
    figure.why = "only one of them has it";
    return;
  }
  if (std::abs(*figure.change) <= kOneFigure * Size(figure)) {
    figure.standing = Standing::kSame;
    figure.why = fmt::format("one figure each, no more than {:.0f} % apart", 100 * kOneFigure);
    return;
  }
  figure.standing = Standing::kUnsure;
  figure.why = fmt::format("one figure each: {}, if a second run shows it again",
                           ByDirection(figure) == Standing::kBetter ? "better" : "worse");
}

void TestWindows(ComparedFigure& figure, const std::vector<double>& before,
                 const std::vector<double>& after) {
  if (!before.empty()) {
    figure.before = base::Mean(before);
  }
  if (!after.empty()) {
    figure.after = base::Mean(after);
  }
  SetChange(figure);
  if (!figure.change) {
    figure.why = "only one of them has it";
    return;
  }
  const base::SampleSummary was = base::SummariseWindows(before);
  const base::SampleSummary is = base::SummariseWindows(after);
  const auto difference = base::WelchTest(was, is);
  if (!difference) {
    DecideOneFigure(figure);
    return;
  }
  figure.low = difference->low;
  figure.high = difference->high;
  figure.p_value = difference->p_value;
  figure.test =
      fmt::format("Welch's t: {} and {} windows, worth {:.0f} and {:.0f} independent ones",
                  before.size(), after.size(), was.count, is.count);
}

int DecideTested(std::vector<ComparedFigure>& figures) {
  std::vector<double> chances;
  for (const ComparedFigure& figure : figures) {
    if (figure.p_value) {
      chances.push_back(*figure.p_value);
    }
  }
  const std::vector<double> adjusted = base::AdjustedByHolm(chances);
  std::size_t at = 0;
  for (ComparedFigure& figure : figures) {
    if (figure.p_value) {
      figure.p_value = adjusted[at++];
      DecideOne(figure);
    }
  }
  return static_cast<int>(chances.size());
}

}  // namespace report
