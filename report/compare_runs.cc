// SPDX-License-Identifier: Apache-2.0
//
// What ran: windows of two rehearsals, runs flat out and disks, and the frames they lost.

#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "base/two_samples.h"
#include "report/compare_figures.h"
#include "report/compare_windows.h"
#include "report/judged_run.h"
#include "report/quantities.h"

namespace report {
namespace {

void CompareWindows(const Evidence& before, const Evidence& after,
                    std::vector<ComparedFigure>& figures) {
  static const std::vector<double> none;
  const auto old_series = SeriesOf(before);
  const auto new_series = SeriesOf(after);
  // A recording folder may have another name: disks go by their place in the list.
  const auto key = [](const WindowSeries& series) {
    return series.what + (series.group == "disk" ? "" : " " + series.item);
  };
  for (const auto& [one, other] : Pairs(old_series, new_series, key)) {
    const WindowSeries& series = one != nullptr ? *one : *other;
    const auto& was = one == nullptr ? none : one->values;
    const auto& is = other == nullptr ? none : other->values;
    if (was.empty() && is.empty()) {
      continue;
    }
    ComparedFigure figure =
        NewFigure(series.group, series.what, series.item, series.unit, series.better);
    TestWindows(figure, was, is);
    figures.push_back(std::move(figure));
  }
}

/// How often frames were lost; a loss may take many frames that say nothing new.
ComparedFigure TimesLost(const LossEpisodes& was, const LossEpisodes& is) {
  constexpr double kHour = 3600;
  ComparedFigure often =
      NewFigure("rehearsal", "losses of frames", "", kEventsPerHour, Better::kLower);
  often.before = was.seconds > 0 ? static_cast<double>(was.episodes) * kHour / was.seconds : 0;
  often.after = is.seconds > 0 ? static_cast<double>(is.episodes) * kHour / is.seconds : 0;
  const auto rates = base::CompareRates({was.episodes, was.seconds}, {is.episodes, is.seconds});
  if (rates) {
    if (std::isfinite(rates->value)) {
      often.change = rates->value;
    }
    if (std::isfinite(rates->high)) {
      often.high = rates->high;
    }
    often.low = rates->low;
    often.p_value = rates->p_value;
    often.test = fmt::format(
        "exact comparison of Poisson rates: {} in {:.0f} s and {} in {:.0f} s; change and interval "
        "are the ratio",
        was.episodes, was.seconds, is.episodes, is.seconds);
  }
  return often;
}

void CompareLosses(const Document& before, const Document& after,
                   std::vector<ComparedFigure>& figures) {
  const auto was = JudgeRun(before.evidence.results, before.evidence.profile.margins);
  const auto is = JudgeRun(after.evidence.results, after.evidence.profile.margins);
  if (!was || !is || was->due <= 0 || is->due <= 0) {
    return;
  }
  ComparedFigure often = TimesLost(EpisodesOfLoss(before.evidence), EpisodesOfLoss(after.evidence));
  if (!often.p_value) {
    often.standing = Standing::kSame;
    often.why =
        fmt::format("none in either; of frames at most {} an hour before and {} after, 95 %",
                    FormatNumber(was->upper_per_hour), FormatNumber(is->upper_per_hour));
  }
  if (!often.test.empty()) {
    often.test += fmt::format("; in all {} of {} frames before and {} of {} after",
                              FormatCount(was->Dropped()), FormatCount(was->due),
                              FormatCount(is->Dropped()), FormatCount(is->due));
  }
  figures.push_back(often);
}

}  // namespace

void CompareRuns(const Document& before, const Document& after,
                 std::vector<ComparedFigure>& figures) {
  CompareLosses(before, after, figures);
  CompareWindows(before.evidence, after.evidence, figures);
}

}  // namespace report
