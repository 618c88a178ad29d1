// SPDX-License-Identifier: Apache-2.0

#include "probes/line/v4l2_pictures.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <iterator>
#include <string>
#include <vector>

#include <boost/math/distributions/students_t.hpp>

#include "base/stats/percentile.h"

namespace probes {
namespace {

using base::Reading;

constexpr double kNsPerSecond = 1e9;
constexpr double kNsPerMs = 1e6;
constexpr std::size_t kMostGaps = 100;
// A batch must be long against the jitter of its two ends, and there must be some of them.
constexpr double kBatchSeconds = 1;
constexpr std::size_t kLeastBatchPictures = 5;
constexpr std::size_t kLeastBatches = 5;
// A picture may wait for us as long as we are late, but it cannot arrive sooner after its timestamp
// than all before it: what is beyond this is a jump of the clock that stamps.
constexpr double kLeastJumpSeconds = 0.25;
// A picture that is only late leaves the next ones where they were: a hole is still there after
// this many.
constexpr std::size_t kCatchUp = 3;

/// From one picture to the next.
struct Step {
  std::size_t to = 0;         // index of the second picture
  std::int64_t numbers = 1;   // that the driver counted on; 1 = neighbours
  bool number_fault = false;  // `numbers` says nothing
  double timestamp_ns = 0;
  double arrived_ns = 0;
};

double Between(std::int64_t from, std::int64_t to) {
  return static_cast<double>(to) - static_cast<double>(from);
}

bool Numbered(std::span<const PictureStamp> pictures) {
  constexpr std::size_t kTell = 3;  // two equal numbers may be a fault; three are a habit
  return pictures.size() < kTell ||
         std::any_of(pictures.begin(), pictures.end(), [&](const PictureStamp& picture) {
           return picture.number != pictures.front().number;
         });
}

std::vector<Step> StepsOf(std::span<const PictureStamp> pictures, bool numbered) {
  std::vector<Step> steps;
  steps.reserve(pictures.size());
  for (std::size_t i = 1; i < pictures.size(); ++i) {
    Step step;
    step.to = i;
    step.timestamp_ns = Between(pictures[i - 1].timestamp_ns, pictures[i].timestamp_ns);
    step.arrived_ns = Between(pictures[i - 1].arrived_ns, pictures[i].arrived_ns);
    if (numbered) {
      const auto lost = LostBetween(pictures[i - 1].number, pictures[i].number);
      step.number_fault = !lost;
      step.numbers = lost ? *lost + 1 : 1;
    }
    steps.push_back(step);
  }
  return steps;
}

/// The device's own pace: the middle interval between neighbours. 0 when there are none.
double UsualInterval(const std::vector<Step>& steps) {
  std::vector<double> intervals;
  for (const Step& step : steps) {
    if (step.numbers == 1 && step.timestamp_ns > 0) {
      intervals.push_back(step.timestamp_ns);
    }
  }
  return base::Percentile(intervals, 50);
}

/// A step of numbers that could not have happened in its time says nothing of losses.
void DropImpossibleSteps(double interval_ns, std::vector<Step>& steps) {
  for (Step& step : steps) {
    const double longest_ns = 2 * std::max(step.timestamp_ns, step.arrived_ns) + kNsPerSecond;
    if (step.numbers > 1 && static_cast<double>(step.numbers) * interval_ns > longest_ns) {
      step.number_fault = true;
      step.numbers = 1;
    }
  }
}

class Account {
 public:
  Account(std::span<const PictureStamp> pictures, const PictureRule& rule)
      : pictures_(pictures), rule_(rule) {}

  LinePictures Sum() {
    sums_.delivered = static_cast<std::int64_t>(pictures_.size());
    CountPictures();
    sums_.numbered = Numbered(pictures_);
    steps_ = StepsOf(pictures_, sums_.numbered);
    interval_ns_ = rule_.asked_per_second > 0 ? kNsPerSecond / rule_.asked_per_second : 0;
    const double usual_ns = UsualInterval(steps_);
    interval_ns_ = usual_ns > 0 ? usual_ns : interval_ns_;
    DropImpossibleSteps(interval_ns_, steps_);
    if (!pictures_.empty()) {
      sums_.seconds =
          Between(pictures_.front().arrived_ns, pictures_.back().arrived_ns) / kNsPerSecond;
      sums_.start_seconds = std::min(rule_.start_seconds, sums_.seconds);
      least_lag_ns_ = Between(pictures_.front().timestamp_ns, pictures_.front().arrived_ns);
    }
    for (const Step& step : steps_) {
      CountStep(step);
    }
    MeasureRates();
    MeasureJitter();
    return sums_;
  }

 private:
  double SecondsAt(std::size_t index) const {
    return Between(pictures_.front().arrived_ns, pictures_[index].arrived_ns) / kNsPerSecond;
  }
  bool Settled(const Step& step) const { return SecondsAt(step.to - 1) >= rule_.start_seconds; }

  void CountPictures() {
    for (const PictureStamp& picture : pictures_) {
      sums_.flagged += picture.flagged ? 1 : 0;
      // Damaged data may well be short: that is one fault, not two.
      sums_.short_pictures += !picture.flagged && picture.bytes < rule_.least_bytes ? 1 : 0;
    }
  }

  /// Whether the clock that stamps jumped in this step. To be asked once, step by step.
  bool Jumps(const Step& step) {
    const PictureStamp& picture = pictures_[step.to];
    const double lag_ns = Between(picture.timestamp_ns, picture.arrived_ns);
    const bool sooner = lag_ns < least_lag_ns_ - kLeastJumpSeconds * kNsPerSecond;
    const bool jumps = step.timestamp_ns <= 0 || (Settled(step) && sooner);
    least_lag_ns_ = jumps ? lag_ns : std::min(least_lag_ns_, lag_ns);
    return jumps;
  }

  /// Pictures that the time from before `step` to `further` pictures after it has
  /// room for, beyond those that came or are known to be lost.
  std::int64_t MissingIn(const Step& step, std::size_t further) const {
    const std::size_t to = std::min(step.to + further, pictures_.size() - 1);
    std::int64_t counted = 0;
    double time_ns = 0;
    for (std::size_t i = step.to; i <= to; ++i) {
      counted += steps_[i - 1].numbers;
      time_ns += steps_[i - 1].timestamp_ns;
    }
    const double room = std::round(time_ns / interval_ns_);
    return std::max<std::int64_t>(0, static_cast<std::int64_t>(room) - counted);
  }

  void CountStep(const Step& step) {
    const bool jumps = Jumps(step);
    sums_.number_faults += step.number_fault ? 1 : 0;
    sums_.timestamp_jumps += jumps ? 1 : 0;
    if (step.numbers > 1) {
      CountLost(step);
    } else if (Settled(step) && !jumps && interval_ns_ > 0) {
      sums_.missing_by_time += std::min(MissingIn(step, 0), MissingIn(step, kCatchUp));
    }
    // Neighbours in time that we took far apart: meanwhile the driver had no other buffer left.
    if (step.numbers == 1 && step.timestamp_ns < 2 * interval_ns_ &&
        step.arrived_ns > (rule_.buffers - 1) * interval_ns_) {
      late_at_ = step.to;
    }
  }

  void CountLost(const Step& step) {
    const std::int64_t lost = step.numbers - 1;
    if (!Settled(step)) {
      sums_.lost_at_start += lost;
      return;
    }
    sums_.lost += lost;
    // What the driver had filled by then comes first, without a gap.
    if (late_at_ && step.to - *late_at_ <= static_cast<std::size_t>(rule_.buffers)) {
      sums_.lost_unserved += lost;
    }
    if (sums_.gaps.size() < kMostGaps) {
      sums_.gaps.push_back({SecondsAt(step.to), lost});
    }
  }

  double TimeOf(const Step& step) const {
    return sums_.timestamp_jumps > 0 ? step.arrived_ns : step.timestamp_ns;
  }

  LineRate RateOf(const std::vector<Step>& steps, bool with_lost) const;
  void MeasureRates();
  void MeasureJitter();

  std::span<const PictureStamp> pictures_;
  PictureRule rule_;
  std::vector<Step> steps_;  // steps_[i - 1] leads to picture i
  double interval_ns_ = 0;
  double least_lag_ns_ = 0;  // from timestamp to arrival, of the pictures so far
  std::optional<std::size_t> late_at_;
  LinePictures sums_;
};

/// Student's t that 95 % of means lie within, for `batches` batches.
double TwoSided95(std::size_t batches) {
  const boost::math::students_t_distribution<double> t(static_cast<double>(batches - 1));
  return boost::math::quantile(t, 0.975);
}

LineRate Account::RateOf(const std::vector<Step>& steps, bool with_lost) const {
  double all_pictures = 0;
  double all_ns = 0;
  double batch_pictures = 0;
  double batch_ns = 0;
  std::size_t in_batch = 0;
  std::vector<double> rates;
  for (const Step& step : steps) {
    const double pictures = with_lost ? static_cast<double>(step.numbers) : 1;
    batch_pictures += pictures;
    batch_ns += TimeOf(step);
    all_pictures += pictures;
    all_ns += TimeOf(step);
    if (++in_batch >= kLeastBatchPictures && batch_ns >= kBatchSeconds * kNsPerSecond) {
      rates.push_back(batch_pictures / batch_ns * kNsPerSecond);
      batch_pictures = 0;
      batch_ns = 0;
      in_batch = 0;
    }
  }
  LineRate rate;
  rate.per_second = all_ns > 0 ? all_pictures / all_ns * kNsPerSecond : 0;
  if (rates.size() >= kLeastBatches) {
    const double mean = base::Mean(rates);
    double squares = 0;
    for (double each : rates) {
      squares += (each - mean) * (each - mean);
    }
    const auto count = static_cast<double>(rates.size());
    const double half = TwoSided95(rates.size()) * std::sqrt(squares / (count - 1) / count);
    rate.low = rate.per_second - half;
    rate.high = rate.per_second + half;
  }
  return rate;
}

void Account::MeasureRates() {
  std::vector<Step> settled;
  std::copy_if(steps_.begin(), steps_.end(), std::back_inserter(settled),
               [this](const Step& step) { return Settled(step); });
  if (settled.size() < 2) {
    const std::string why = "too few frames after the start";
    sums_.delivered_rate = Reading<LineRate>::Unknown(why);
    sums_.device_rate = Reading<LineRate>::Unknown(why);
    return;
  }
  sums_.delivered_rate = RateOf(settled, false);
  sums_.device_rate = sums_.numbered
                          ? Reading<LineRate>(RateOf(settled, true))
                          : Reading<LineRate>::Unknown("the driver does not number frames");
}

void Account::MeasureJitter() {
  if (sums_.timestamp_jumps > 0) {
    sums_.jitter = Reading<LineJitter>::Unknown("the timestamps jump");
    return;
  }
  std::vector<double> intervals_ms;
  for (const Step& step : steps_) {
    if (Settled(step) && step.numbers == 1 && !step.number_fault) {
      intervals_ms.push_back(step.timestamp_ns / kNsPerMs);
    }
  }
  if (intervals_ms.size() < 2) {
    sums_.jitter = Reading<LineJitter>::Unknown("too few frames after the start");
    return;
  }
  LineJitter jitter;
  jitter.mean_interval_ms = base::Mean(intervals_ms);
  jitter.shortest_interval_ms = *std::min_element(intervals_ms.begin(), intervals_ms.end());
  jitter.longest_interval_ms = *std::max_element(intervals_ms.begin(), intervals_ms.end());
  std::vector<double> deviations;
  deviations.reserve(intervals_ms.size());
  for (double interval : intervals_ms) {
    deviations.push_back(std::abs(interval - jitter.mean_interval_ms));
  }
  jitter.p50_ms = base::Percentile(deviations, 50);
  jitter.p95_ms = base::Percentile(deviations, 95);
  jitter.p99_ms = base::Percentile(deviations, 99);
  jitter.longest_ms = base::Percentile(deviations, 100);
  sums_.jitter = jitter;
}

}  // namespace

std::optional<std::int64_t> LostBetween(std::uint32_t before, std::uint32_t after) {
  constexpr std::uint32_t kHalfWay = 0x80000000U;
  const std::uint32_t step = after - before;
  if (step == 0 || step >= kHalfWay) {
    return std::nullopt;
  }
  return static_cast<std::int64_t>(step) - 1;
}

LinePictures SumPictures(std::span<const PictureStamp> pictures, const PictureRule& rule) {
  return Account(pictures, rule).Sum();
}

}  // namespace probes
