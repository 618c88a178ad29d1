// SPDX-License-Identifier: Apache-2.0
//
// Many results in an order that a buyer or a keeper of many PCs can use.

#include <algorithm>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "base/stats/two_samples.h"
#include "profiles/text/reader.h"
#include "report/compare/compare.h"
#include "report/compare/figures.h"
#include "report/compare/load_in_time.h"
#include "report/data/verdict_order.h"
#include "report/fields/words.h"
#include "report/loads/judged_run.h"
#include "report/words/quantities.h"

namespace report {
namespace {

/// What the tightest resource has above its margin; least where nothing is told.
double AboveMargin(const RankedResult& result) {
  constexpr double kNothingTold = -1e6;
  return result.tightest_spare ? *result.tightest_spare - result.tightest_keep.value_or(0)
                               : kNothingTold;
}

bool Before(const RankEntry& a, const RankEntry& b) {
  const auto& one = a.result;
  const auto& other = b.result;
  if (BadnessOf(one.result.verdict) != BadnessOf(other.result.verdict)) {
    return BadnessOf(one.result.verdict) < BadnessOf(other.result.verdict);
  }
  if (AboveMargin(one) != AboveMargin(other)) {
    return AboveMargin(one) > AboveMargin(other);
  }
  return one.speed.value_or(0) > other.speed.value_or(0);
}

void SetTightest(const Document& document, RankedResult& result) {
  for (const Headroom& row : document.headroom) {
    if (!row.headroom_percent) {
      continue;
    }
    const double above = *row.headroom_percent - row.margin_percent;
    if (!result.tightest_spare || above < AboveMargin(result)) {
      result.tightest = RowName(row.resource, row.item, ": ");
      result.tightest_spare = row.headroom_percent;
      result.tightest_keep = row.margin_percent;
    }
  }
}

void SetSpeed(const std::vector<double>& speeds, RankedResult& result) {
  if (speeds.size() < 2) {
    return;
  }
  const base::SampleSummary summary = base::SummariseWindows(speeds);
  // The interval of one mean is that of its difference to a mean that is known for certain.
  const auto interval =
      base::WelchTest({0, 0, summary.count}, {summary.mean, summary.deviation, summary.count});
  result.speed = summary.mean;
  if (interval) {
    result.speed_low = interval->low;
    result.speed_high = interval->high;
  }
}

/// Each speed against the one ranked above, corrected for their number.
void CompareNeighbours(std::vector<RankEntry>& entries) {
  std::vector<ComparedFigure> figures;
  for (std::size_t i = 1; i < entries.size(); ++i) {
    ComparedFigure figure =
        NewFigure("rehearsal", "full-speed run", "", "x real time", Better::kHigher);
    if (entries[i].production_text == entries[i - 1].production_text) {
      TestWindows(figure, entries[i - 1].speeds, entries[i].speeds);
    } else {
      figure.why = "not the same production";
    }
    figures.push_back(std::move(figure));
  }
  DecideTested(figures);
  for (std::size_t i = 1; i < entries.size(); ++i) {
    entries[i].result.against_above = figures[i - 1].standing;
    entries[i].result.against_why = figures[i - 1].why;
  }
}

void SetProductions(std::vector<RankEntry>& entries, Ranking& ranking) {
  std::map<std::string, int> known;
  for (RankEntry& entry : entries) {
    const auto [place, is_new] =
        known.emplace(entry.production_text, static_cast<int>(known.size()) + 1);
    entry.result.production = place->second;
    if (is_new) {
      ranking.productions.push_back(entry.result.result.production);
    }
  }
}

std::string HeadlineOf(const Ranking& ranking) {
  if (ranking.results.empty()) {
    return "No result could be read.";
  }
  std::map<Verdict, int> counts;
  for (const RankedResult& result : ranking.results) {
    ++counts[result.result.verdict];
  }
  std::string text;
  if (ranking.productions.size() > 1) {
    text = fmt::format("{} productions that are not the same: a rank compares different work. ",
                       ranking.productions.size());
  }
  text += Plural(static_cast<std::int64_t>(ranking.results.size()), "result") + ":";
  for (const auto& [verdict, count] : counts) {
    text += fmt::format("{} {} {}", text.ends_with(":") ? "" : ",", count, stored::WordOf(verdict));
  }
  return text +
         (ranking.not_read.empty()
              ? "."
              : fmt::format("; {} not read.",
                            Plural(static_cast<std::int64_t>(ranking.not_read.size()), "file")));
}

}  // namespace

RankEntry EntryOf(const NamedDocument& named) {
  const Document& document = named.document;
  RankEntry entry;
  entry.result.result = IdentityOf(named);
  SetTightest(document, entry.result);
  if (const auto run = JudgeRun(document.evidence.results, document.evidence.profile.margins)) {
    entry.result.lost = run->Dropped();
    entry.result.lost_upper = run->upper_per_hour;
  }
  entry.speeds = SpeedWindows(document.evidence.results);
  SetSpeed(entry.speeds, entry.result);
  if (document.capacity) {
    entry.result.more_sources = document.capacity->added_sources_predicted;
  }
  entry.production_text = profiles::ToJsonText(document.evidence.profile);
  return entry;
}

Ranking Rank(std::vector<RankEntry> entries, std::vector<UnreadResult> not_read) {
  std::stable_sort(entries.begin(), entries.end(), Before);
  Ranking ranking;
  ranking.not_read = std::move(not_read);
  SetProductions(entries, ranking);
  CompareNeighbours(entries);
  int rank = 0;
  for (RankEntry& entry : entries) {
    entry.result.rank = ++rank;
    ranking.results.push_back(std::move(entry.result));
  }
  ranking.headline = HeadlineOf(ranking);
  if (std::any_of(ranking.results.begin(), ranking.results.end(),
                  [](const RankedResult& result) { return !result.result.complete; })) {
    ranking.cautions.emplace_back("Some are incomplete: what did not run does not count");
  }
  ranking.method.emplace_back(
      "Order: verdict (ready, tight, unproven, short), then what the tightest resource has above "
      "its "
      "margin, then full-speed run");
  ranking.method.push_back(fmt::format(
      "Speed: mean of one-second windows with its 95 % interval, each against the rank above by "
      "Welch's t test, windows that are like the one before counted for less, corrected by Holm's "
      "method; below {:.0f} % is no real difference",
      100 * kRunToRun));
  return ranking;
}

}  // namespace report
