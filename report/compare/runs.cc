// SPDX-License-Identifier: Apache-2.0
//
// What ran: windows of two rehearsals, runs flat out and disks, and the frames they lost.

#include <cmath>
#include <cstddef>
#include <numeric>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/stats/two_samples.h"
#include "report/compare/figures.h"
#include "report/compare/load_in_time.h"
#include "report/loads/judged_run.h"
#include "report/words/quantities.h"

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

constexpr double kHour = 3600;

/// A ratio of rates as the figure has it: an end that is infinite is none.
void SetRatio(const base::Difference& ratio, ComparedFigure& figure) {
  if (std::isfinite(ratio.value)) {
    figure.change = ratio.value;
  }
  if (std::isfinite(ratio.high)) {
    figure.high = ratio.high;
  }
  figure.low = ratio.low;
  figure.p_value = ratio.p_value;
}

double PerHour(double events, std::size_t seconds) {
  return seconds > 0 ? events * kHour / static_cast<double>(seconds) : 0;
}

/// How many frames were dropped, however they lie.
ComparedFigure FramesDropped(const std::vector<double>& was, const std::vector<double>& is) {
  ComparedFigure frames =
      NewFigure("rehearsal", "frames dropped", "", kEventsPerHour, Better::kLower);
  const double before = std::accumulate(was.begin(), was.end(), 0.0);
  const double after = std::accumulate(is.begin(), is.end(), 0.0);
  frames.before = PerHour(before, was.size());
  frames.after = PerHour(after, is.size());
  if (const auto ratio = base::CompareBursts(was, is)) {
    SetRatio(*ratio, frames);
    frames.test = fmt::format(
        "permutation of blocks of seconds: {} frames in {} s and {} in {} s; change and interval "
        "(bootstrap) are the ratio",
        FormatNumber(before), was.size(), FormatNumber(after), is.size());
  } else if (before + after > 0) {
    frames.standing = Standing::kUnsure;
    frames.why = "they were dropped in one stretch: one run each tells no chance from change";
  }
  return frames;
}

/// How often it happened; an outage may take many frames that say nothing new.
ComparedFigure Outages(const std::vector<double>& was, const std::vector<double>& is) {
  ComparedFigure often = NewFigure("rehearsal", "outages", "", kEventsPerHour, Better::kLower);
  const std::int64_t before = CountOutages(was);
  const std::int64_t after = CountOutages(is);
  often.before = PerHour(static_cast<double>(before), was.size());
  often.after = PerHour(static_cast<double>(after), is.size());
  const auto ratio = base::CompareRates({before, static_cast<double>(was.size())},
                                        {after, static_cast<double>(is.size())});
  if (ratio) {
    SetRatio(*ratio, often);
    often.test = fmt::format(
        "exact comparison of Poisson rates: {} in {} s and {} in {} s; change and interval are the "
        "ratio",
        before, was.size(), after, is.size());
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
  const std::vector<double> old_drops = DroppedBySecond(before.evidence);
  const std::vector<double> new_drops = DroppedBySecond(after.evidence);
  ComparedFigure frames = FramesDropped(old_drops, new_drops);
  ComparedFigure often = Outages(old_drops, new_drops);
  if (was->Dropped() + is->Dropped() == 0) {
    frames.standing = often.standing = Standing::kSame;
    frames.why = often.why =
        fmt::format("none in either; of frames at most {} an hour before and {} after, 95 %",
                    FormatAtMost(was->upper_per_hour), FormatAtMost(is->upper_per_hour));
  }
  if (!frames.test.empty()) {
    frames.test += fmt::format("; in all {} of {} frames before and {} of {} after",
                               FormatCount(was->Dropped()), FormatCount(was->due),
                               FormatCount(is->Dropped()), FormatCount(is->due));
  }
  figures.push_back(std::move(frames));
  figures.push_back(std::move(often));
}

}  // namespace

void CompareRuns(const Document& before, const Document& after,
                 std::vector<ComparedFigure>& figures) {
  CompareLosses(before, after, figures);
  CompareWindows(before.evidence, after.evidence, figures);
}

}  // namespace report
