// SPDX-License-Identifier: Apache-2.0

#include "report/recordings/gap_pattern.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>

#include <fmt/format.h>

#include "base/stats/percentile.h"
#include "base/text.h"
#include "report/words/quantities.h"
#include "report/words/rate_names.h"

namespace report {
namespace {

using probes::TimeGap;

constexpr double kGroupSeconds = 1;
/// An encoder takes this long to start at most (measured: healthy runs lose 1 to 4 pictures at 0.3
/// s).
constexpr double kStartSeconds = 5;
constexpr double kStartLeastLength = 10;
constexpr double kEndLatestBeginning = 0.5;  // of the length that is clean before
constexpr double kEndLeastLost = 0.2;        // of what is due from there on
constexpr std::size_t kRegularLeast = 5;
constexpr double kRegularNear = 0.05;  // of the median distance
constexpr double kRegularShare = 0.9;
constexpr double kStraightPeriods = 1;  // off a straight line; random walks leave it
constexpr double kCountedPeriods = 3;
constexpr double kFewPeriods = 20;  // distances below are regular only on a straight line
constexpr double kRampRho = 0.727;  // Spearman, 12 pairs, two-sided 1 % (tables; from memory)
constexpr double kRampGrowth = 2;
constexpr double kThroughoutLost = 0.05;
constexpr double kNeverCleanShare =
    0.5;  // of the time, within a second of a loss: no clean time between
constexpr double kStretchSeconds = 3;    // a group above this is a cluster of holes, not one burst
constexpr std::int64_t kBurstLeast = 3;  // pictures at a time
constexpr double kBurstShare = 0.5;

double SpacingCv(const std::vector<double>& spacings) {
  const double mean = base::Mean(spacings);
  if (spacings.size() < 2 || mean <= 0) {
    return 0;
  }
  double squares = 0;
  for (const double spacing : spacings) {
    squares += (spacing - mean) * (spacing - mean);
  }
  return std::sqrt(squares / static_cast<double>(spacings.size() - 1)) / mean;
}

std::vector<double> Spacings(const std::vector<TimeGap>& gaps) {
  std::vector<double> spacings;
  for (std::size_t i = 1; i < gaps.size(); ++i) {
    spacings.push_back(gaps[i].at_s - gaps[i - 1].at_s);
  }
  return spacings;
}

std::string At(double seconds) {
  return base::FormatSeconds(std::max(0.0, seconds));
}

std::optional<GapPattern> StartOnly(const LossPlaces& places) {
  const double last = places.gaps.back().at_s + places.gaps.back().length_s - places.first_s;
  const bool all_known = static_cast<std::int64_t>(places.gaps.size()) == places.gap_count;
  const bool one_hole = places.gaps.size() == 1 && places.gaps.front().length_s > kGroupSeconds;
  if (!all_known || one_hole || last > kStartSeconds ||
      places.end_s - places.first_s < kStartLeastLength) {
    return std::nullopt;
  }
  return GapPattern{GapShape::kStartOnly,
                    fmt::format("the last of them ends {:.1f} s after the start of {}", last,
                                At(places.end_s - places.first_s))};
}

/// Several places, all of them in the last seconds.
std::optional<GapPattern> LastSecondsOnly(const LossPlaces& places) {
  const double length = places.end_s - places.first_s;
  const double begins = places.gaps.front().at_s - places.first_s;
  const bool all_known = static_cast<std::int64_t>(places.gaps.size()) == places.gap_count;
  if (!all_known || places.gaps.size() < 2 || length < kStartLeastLength ||
      length - begins > kStartSeconds) {
    return std::nullopt;
  }
  return GapPattern{GapShape::kEndOnly,
                    fmt::format("none in the first {}, the first of them {:.1f} s before the end",
                                At(begins), length - begins)};
}

/// From somewhere in the second half on to the end, many.
std::optional<GapPattern> EndOnly(const LossPlaces& places) {
  const double length = places.end_s - places.first_s;
  const double begins = places.gaps.front().at_s - places.first_s;
  const double ends = places.gaps.back().at_s + places.gaps.back().length_s - places.first_s;
  const bool all_known = static_cast<std::int64_t>(places.gaps.size()) == places.gap_count;
  const double lost = static_cast<double>(places.pictures) / places.rate / (length - begins);
  if (!all_known || places.gaps.size() < 2 || begins < kEndLatestBeginning * length ||
      lost < kEndLeastLost || length - ends > std::max(kGroupSeconds, (length - begins) / 10)) {
    return std::nullopt;
  }
  return GapPattern{GapShape::kEndOnly,
                    fmt::format("none in the first {}, {} of the frames in the last {}", At(begins),
                                FormatPercent(100 * lost), At(length - begins))};
}

/// A straight line through the gaps' times over their numbers.
struct GapLine {
  double spacing_s = 0;
  double off_s = 0;  // root mean square distance of a gap from it
};

/// `usual_s` above a few periods: a gap that was not seen, or one too many, moves no other's
/// number.
GapLine LineOf(const std::vector<TimeGap>& gaps, double usual_s, double period_s) {
  const auto count = static_cast<double>(gaps.size());
  const bool counted_by_time = usual_s > kCountedPeriods * period_s;
  std::vector<double> numbers = {0};
  for (std::size_t i = 1; i < gaps.size(); ++i) {
    const double step = (gaps[i].at_s - gaps[i - 1].at_s) / usual_s;
    numbers.push_back(numbers.back() + (counted_by_time ? std::round(step) : 1));
  }
  const double mean_number = base::Mean(numbers);
  double mean_s = 0;
  for (const TimeGap& gap : gaps) {
    mean_s += gap.at_s / count;
  }
  double xx = 0;
  double xy = 0;
  for (std::size_t i = 0; i < gaps.size(); ++i) {
    xx += (numbers[i] - mean_number) * (numbers[i] - mean_number);
    xy += (numbers[i] - mean_number) * (gaps[i].at_s - mean_s);
  }
  GapLine line;
  line.spacing_s = xx > 0 ? xy / xx : 0;
  double squares = 0;
  for (std::size_t i = 0; i < gaps.size(); ++i) {
    const double off = gaps[i].at_s - mean_s - line.spacing_s * (numbers[i] - mean_number);
    squares += off * off;
  }
  line.off_s = std::sqrt(squares / count);
  return line;
}

std::optional<GapPattern> Regular(const LossPlaces& places, const std::vector<double>& spacings) {
  if (places.gaps.size() < kRegularLeast) {
    return std::nullopt;
  }
  const std::int64_t each = places.gaps[places.gaps.size() / 2].missing;
  const auto alike = std::count_if(places.gaps.begin(), places.gaps.end(),
                                   [each](const TimeGap& gap) { return gap.missing == each; });
  const double median = base::Percentile(spacings, 50);
  const double period = 1 / places.rate;
  const double near = std::max(kRegularNear * median, 1.01 * period);
  const auto even = std::count_if(spacings.begin(), spacings.end(), [&](double spacing) {
    return std::fabs(spacing - median) <= near;
  });
  const auto share = [](auto part, std::size_t whole) {
    return static_cast<double>(part) / static_cast<double>(whole);
  };
  const double even_share = share(even, spacings.size());
  if (even_share < kRegularShare || share(alike, places.gaps.size()) < kRegularShare) {
    return std::nullopt;
  }
  const GapLine line = LineOf(places.gaps, median, period);
  if (line.spacing_s <= 0 ||
      (median < kFewPeriods * period && line.off_s > kStraightPeriods * period)) {
    return std::nullopt;
  }
  GapPattern pattern{
      GapShape::kRegular,
      fmt::format("{} at a time, every {:.3f} s: {} of the distances within {:.3f} s "
                  "of that",
                  each, line.spacing_s, FormatPercent(100 * even_share), near)};
  const double lost_rate = static_cast<double>(each) / line.spacing_s;
  pattern.rate_offered = places.repeats ? places.rate - lost_rate : places.rate;
  pattern.rate_kept = places.repeats ? places.rate : places.rate - lost_rate;
  pattern.rates = RatePairText(pattern.rate_offered, pattern.rate_kept);
  return pattern;
}

std::vector<double> Ranks(const std::vector<double>& values) {
  std::vector<std::size_t> order(values.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(),
            [&](std::size_t left, std::size_t right) { return values[left] < values[right]; });
  std::vector<double> ranks(values.size());
  for (std::size_t i = 0; i < order.size();) {
    std::size_t end = i;
    while (end < order.size() && values[order[end]] == values[order[i]]) {
      ++end;
    }
    for (std::size_t k = i; k < end; ++k) {
      ranks[order[k]] = static_cast<double>(i + end - 1) / 2;  // ties share their mean rank
    }
    i = end;
  }
  return ranks;
}

/// Spearman's rank correlation of the parts' losses with time.
double RankCorrelation(const LossPlaces& places) {
  const std::vector<double> losses(places.in_part.begin(), places.in_part.end());
  const std::vector<double> ranks = Ranks(losses);
  const double mean = base::Mean(ranks);
  double xy = 0;
  double xx = 0;
  double yy = 0;
  for (std::size_t i = 0; i < ranks.size(); ++i) {
    const double x = static_cast<double>(i) - static_cast<double>(ranks.size() - 1) / 2;
    xy += x * (ranks[i] - mean);
    xx += x * x;
    yy += (ranks[i] - mean) * (ranks[i] - mean);
  }
  return yy > 0 ? xy / std::sqrt(xx * yy) : 0;
}

std::optional<GapPattern> Ramp(const LossPlaces& places) {
  const double rho = RankCorrelation(places);
  const auto quarter = [&](std::size_t number) {
    const auto begin = places.in_part.begin() + static_cast<std::ptrdiff_t>(3 * number);
    return std::accumulate(begin, begin + 3, std::int64_t{0});
  };
  const bool grows =
      static_cast<double>(quarter(3)) > kRampGrowth * static_cast<double>(quarter(1)) &&
      quarter(2) >= quarter(1) && quarter(2) > 0;
  if (rho < kRampRho || !grows || places.gap_count < 10) {
    return std::nullopt;
  }
  return GapPattern{GapShape::kRamp,
                    fmt::format("quarters of the take miss {}, {}, {} and {}; rank correlation "
                                "with time {:.2f} over 12 parts (above {:.3f})",
                                quarter(0), quarter(1), quarter(2), quarter(3), rho, kRampRho)};
}

/// How much of the time that has pictures lies inside groups of losses. Where only the first gaps
/// are known, of the time up to the last of them.
double ShareInGroups(const LossPlaces& places) {
  const LossGroups groups = GroupLosses(places.gaps);
  double holes = 0;
  for (const TimeGap& gap : places.gaps) {
    holes += gap.length_s;
  }
  double inside = -holes;
  for (std::size_t i = 0; i < groups.begins_s.size(); ++i) {
    inside += groups.ends_s[i] - groups.begins_s[i];
  }
  const bool all_known = static_cast<std::int64_t>(places.gaps.size()) == places.gap_count;
  const double end = all_known ? places.end_s : groups.ends_s.back();
  const double whole = end - places.first_s - holes;
  return whole > 0 ? std::max(0.0, inside) / whole : 0;
}

std::optional<GapPattern> Throughout(const LossPlaces& places) {
  const auto [least, most] = std::minmax_element(places.in_part.begin(), places.in_part.end());
  const double lost =
      places.due > 0 ? static_cast<double>(places.pictures) / static_cast<double>(places.due) : 0;
  const bool heavy = lost >= kThroughoutLost || ShareInGroups(places) >= kNeverCleanShare;
  if (!heavy || *least == 0 || *most > 3 * *least) {
    return std::nullopt;
  }
  return GapPattern{GapShape::kThroughout,
                    fmt::format("{} of all frames; each of 12 parts misses between {} and {}",
                                FormatPercent(100 * lost), *least, *most)};
}

struct Burst {
  double begins_s = 0;
  double length_s = 0;
  std::int64_t pictures = 0;
  std::int64_t gaps = 0;
};

/// Pictures lost within any second between two times.
std::int64_t MostWithinASecond(const std::vector<TimeGap>& gaps, double from_s, double to_s) {
  const auto before = [](const TimeGap& gap, double at_s) { return gap.at_s < at_s; };
  auto oldest = std::lower_bound(gaps.begin(), gaps.end(), from_s, before);
  std::int64_t within = 0;
  std::int64_t most = 0;
  for (auto gap = oldest; gap != gaps.end() && gap->at_s <= to_s; ++gap) {
    within += gap->missing;
    for (; gap->at_s - oldest->at_s > kGroupSeconds; ++oldest) {
      within -= oldest->missing;
    }
    most = std::max(most, within);
  }
  return most;
}

std::vector<Burst> BurstsOf(const LossPlaces& places) {
  const LossGroups groups = GroupLosses(places.gaps);
  std::vector<Burst> bursts;
  for (std::size_t i = 0; i < groups.pictures.size(); ++i) {
    const double begin = groups.begins_s[i];
    const double end = groups.ends_s[i];
    if (MostWithinASecond(places.gaps, begin, end) < kBurstLeast) {
      continue;  // one after the other, and never several at a time
    }
    const auto gaps = std::count_if(places.gaps.begin(), places.gaps.end(), [&](const auto& gap) {
      return gap.at_s >= begin && gap.at_s <= end;
    });
    bursts.push_back({begin, end - begin, groups.pictures[i], gaps});
  }
  return bursts;
}

std::string BurstText(const std::vector<Burst>& bursts, double share) {
  std::int64_t most = 0;
  std::vector<double> spacings;
  const Burst* longest = &bursts.front();
  for (std::size_t i = 0; i < bursts.size(); ++i) {
    most = std::max(most, bursts[i].pictures);
    longest = bursts[i].length_s > longest->length_s ? &bursts[i] : longest;
    if (i > 0) {
      spacings.push_back(bursts[i].begins_s - bursts[i - 1].begins_s);
    }
  }
  const auto count = static_cast<std::int64_t>(bursts.size());
  if (longest->length_s > kStretchSeconds) {
    std::string text = fmt::format(
        "{} of them in {} with less than a second between two holes, the longest {} with {}",
        FormatPercent(100 * share), Plural(count, "cluster"), At(longest->length_s),
        Plural(longest->gaps, "hole"));
    return text + (count > 1 ? "; clean between" : "; clean outside it");
  }
  std::string text = fmt::format("{} of them in {} of three or more within a second, {} at most",
                                 FormatPercent(100 * share), Plural(count, "burst"), most);
  if (bursts.size() >= 4) {
    text += fmt::format("; one every {:.1f} s in the mean, coefficient of variation {:.2f}",
                        base::Mean(spacings), SpacingCv(spacings));
  }
  return text;
}

GapPattern BurstsOrScattered(const LossPlaces& places, double cv) {
  const std::vector<Burst> bursts = BurstsOf(places);
  std::int64_t in_all = 0;
  std::int64_t in_bursts = 0;
  for (const TimeGap& gap : places.gaps) {
    in_all += gap.missing;
  }
  for (const Burst& burst : bursts) {
    in_bursts += burst.pictures;
  }
  const double share =
      in_all > 0 ? static_cast<double>(in_bursts) / static_cast<double>(in_all) : 0;
  const double never_clean = ShareInGroups(places);
  if (share >= kBurstShare && never_clean < kNeverCleanShare) {
    return {GapShape::kBursts, BurstText(bursts, share)};
  }
  std::string text =
      share < kBurstShare
          ? fmt::format("{} of them in bursts of three or more", FormatPercent(100 * share))
          : fmt::format("{} of the time has less than a second between two holes",
                        FormatPercent(100 * never_clean));
  if (places.gaps.size() >= 3) {
    text += fmt::format("; coefficient of variation of their distances {:.2f}, 1 is chance", cv);
  }
  return {GapShape::kScattered, text};
}

}  // namespace

LossPlaces MissingPlaces(const probes::TrackTimes& track) {
  LossPlaces places;
  places.gaps = track.gaps;
  places.gap_count = track.gap_count;
  places.pictures = track.missing;
  places.due = track.due;
  places.in_part = track.missing_in_part;
  places.first_s = track.first_s;
  places.end_s = track.end_s;
  places.rate = track.rate_denominator > 0 ? static_cast<double>(track.rate_numerator) /
                                                 static_cast<double>(track.rate_denominator)
                                           : 0;
  return places;
}

LossPlaces RepeatedPlaces(const probes::TrackTimes& track) {
  LossPlaces places = MissingPlaces(track);
  places.gaps.clear();
  places.in_part = {};
  places.pictures = 0;
  places.repeats = true;
  if (!track.content) {
    places.gap_count = 0;
    return places;
  }
  const double length = track.end_s - track.first_s;
  for (const probes::StillStretch& still : track.content->stretches) {
    if (still.length_s >= probes::kFrozenLeastSeconds || length <= 0) {
      continue;
    }
    places.gaps.push_back({still.at_s, still.length_s, still.pictures});
    places.pictures += still.pictures;
    places.in_part.at(probes::PartOf(track, still.at_s)) += still.pictures;
  }
  places.gap_count = static_cast<std::int64_t>(places.gaps.size());
  return places;
}

LossGroups GroupLosses(const std::vector<TimeGap>& gaps) {
  LossGroups groups;
  for (const TimeGap& gap : gaps) {
    const double end = gap.at_s + gap.length_s;
    if (!groups.ends_s.empty() && gap.at_s - groups.ends_s.back() < kGroupSeconds) {
      groups.ends_s.back() = std::max(groups.ends_s.back(), end);
      groups.pictures.back() += gap.missing;
    } else {
      groups.begins_s.push_back(gap.at_s);
      groups.ends_s.push_back(end);
      groups.pictures.push_back(gap.missing);
    }
  }
  return groups;
}

GapPattern NameGapPattern(const LossPlaces& places) {
  if (places.gaps.empty() || places.pictures <= 0 || !(places.rate > 0)) {
    return {};
  }
  const std::vector<double> spacings = Spacings(places.gaps);
  const double cv = SpacingCv(spacings);
  std::optional<GapPattern> named = StartOnly(places);
  for (const auto& next : {LastSecondsOnly(places), EndOnly(places), Regular(places, spacings),
                           Ramp(places), Throughout(places)}) {
    named = named ? named : next;
  }
  GapPattern pattern = named ? *named : BurstsOrScattered(places, cv);
  pattern.spacing_s = spacings.empty() ? 0 : base::Percentile(spacings, 50);
  pattern.spacing_cv = cv;
  return pattern;
}

}  // namespace report
