#include "probes/picture_times.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <utility>

namespace probes {
namespace {

constexpr std::size_t kReorder = 32;
constexpr std::size_t kLearn = 2000;
constexpr double kStepBackSeconds = 1;
/// A picture this many after a hole may still be the one that was thought missing.
constexpr std::int64_t kRepayWithin = 3;
constexpr double kSnapPpm = 200;
/// Of what a picture is off the beat; the rest goes, so that a beat that is a little wrong follows.
constexpr double kLeadKept = 0.98;

// Rates of production and of the devices that feed it.
const std::array<base::Rational, 14>& StandardRates() {
  static const std::array<base::Rational, 14> rates = {
      base::Rational(24000, 1001), base::Rational(24), base::Rational(25),
      base::Rational(30000, 1001), base::Rational(30), base::Rational(48),
      base::Rational(50),          base::Rational(60000, 1001),
      base::Rational(60),          base::Rational(100),
      base::Rational(120000, 1001), base::Rational(120),
      base::Rational(15),          base::Rational(10)};
  return rates;
}

double MedianOf(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

/// Share of the steps that lie within a quarter period of a whole multiple.
double Explained(const std::vector<double>& steps_s, double period_s) {
  const auto near = std::count_if(steps_s.begin(), steps_s.end(), [&](double step) {
    const double periods = step / period_s;
    return periods > 0.5 && std::fabs(periods - std::round(periods)) < 0.25;
  });
  return static_cast<double>(near) / static_cast<double>(steps_s.size());
}

/// Mean step per period over all steps that are near a whole multiple.
double RefinedPeriod(const std::vector<double>& steps_s, double period_s) {
  double seconds = 0;
  double periods = 0;
  for (const double step : steps_s) {
    const double whole = std::round(step / period_s);
    if (whole >= 1 && whole <= 4) {
      seconds += step;
      periods += whole;
    }
  }
  return periods > 0 ? seconds / periods : period_s;
}

}  // namespace

std::optional<Beat> FindBeat(const std::vector<double>& steps_s,
                             const std::optional<base::Rational>& stated) {
  std::vector<double> forward;
  std::copy_if(steps_s.begin(), steps_s.end(), std::back_inserter(forward),
               [](double step) { return step > 0; });
  if (forward.size() < 3) {
    return std::nullopt;
  }
  const double median = MedianOf(forward);
  if (stated && *stated > 0) {
    const double period = 1 / base::ToDouble(*stated);
    const double measured = RefinedPeriod(forward, period);
    if (median >= 0.7 * period && Explained(forward, period) >= 0.6 &&
        std::fabs(measured / period - 1) * 1e6 <= kSnapPpm) {
      return Beat{*stated, period, RateFrom::kContainer};
    }
  }
  const double measured = RefinedPeriod(forward, median);
  for (const base::Rational& rate : StandardRates()) {
    const double period = 1 / base::ToDouble(rate);
    if (std::fabs(measured / period - 1) * 1e6 <= kSnapPpm) {
      return Beat{rate, period, RateFrom::kTimestamps};
    }
  }
  const auto micros = static_cast<std::int64_t>(std::llround(measured * 1e6));
  return Beat{base::Rational(1'000'000, std::max<std::int64_t>(micros, 1)), measured,
              RateFrom::kTimestamps};
}

PictureTimes::PictureTimes(base::Rational tick_s, std::optional<base::Rational> stated_rate)
    : tick_s_(tick_s), stated_rate_(stated_rate) {
  times_.kind = TrackKind::kVideo;
}

double PictureTimes::Seconds(std::int64_t ticks) const {
  return base::ToDouble(tick_s_) * static_cast<double>(ticks);
}

void PictureTimes::Add(const PacketTime& packet) {
  times_.bytes += packet.bytes;
  const std::optional<std::int64_t> shown = packet.shown ? packet.shown : packet.decoded;
  ++times_.present;
  if (!shown) {
    ++times_.untimed;
    return;
  }
  const std::int64_t decoded = packet.decoded.value_or(*shown);
  if (last_decoded_ && Seconds(decoded - *last_decoded_) < -kStepBackSeconds) {
    EmptyQueue();
    StepBack(*shown);
  }
  last_decoded_ = decoded;
  Order(*shown);
}

void PictureTimes::Order(std::int64_t shown) {
  queue_.push(shown);
  if (queue_.size() > kReorder) {
    const std::int64_t next = queue_.top();
    queue_.pop();
    Next(next);
  }
}

void PictureTimes::EmptyQueue() {
  while (!queue_.empty()) {
    const std::int64_t next = queue_.top();
    queue_.pop();
    Next(next);
  }
}

void PictureTimes::Next(std::int64_t shown) {
  if (last_shown_ && shown < *last_shown_) {
    ++times_.out_of_order;
    return;
  }
  last_shown_ = shown;
  if (learnt_) {
    Count(shown);
    return;
  }
  learning_.push_back(shown);
  if (learning_.size() >= kLearn) {
    Learn();
  }
}

void PictureTimes::StepBack(std::int64_t shown) {
  if (!learnt_) {
    Learn();
  }
  if (last_counted_) {
    times_.steps.push_back({Seconds(*last_counted_), Seconds(shown - *last_counted_)});
  }
  last_shown_.reset();
  last_counted_.reset();
}

void PictureTimes::Learn() {
  std::vector<double> steps_s;
  for (std::size_t i = 1; i < learning_.size(); ++i) {
    steps_s.push_back(Seconds(learning_[i] - learning_[i - 1]));
  }
  beat_ = FindBeat(steps_s, stated_rate_);
  learnt_ = true;
  for (const std::int64_t shown : std::exchange(learning_, {})) {
    Count(shown);
  }
}

void PictureTimes::Count(std::int64_t shown) {
  if (!last_counted_ || !beat_) {
    first_counted_ = first_counted_.value_or(shown);
    times_.due += 1;
    lead_s_ = 0;
    last_counted_ = shown;
    return;
  }
  const double step_s = Seconds(shown - *last_counted_);
  const double period_s = beat_->period_s;
  // A picture is held against the beat, not against the picture before it: both may be off it.
  const auto periods =
      std::max<std::int64_t>(0, std::llround((step_s + lead_s_) / period_s));
  lead_s_ = kLeadKept * (step_s + lead_s_ - static_cast<double>(periods) * period_s);
  ++since_odd_;
  times_.due += periods;
  if (periods == 0) {
    TakeExtra();
  } else if (periods > 1) {
    TakeHole(Seconds(*last_counted_), step_s - period_s, periods - 1);
  } else {
    jitter_.Record(std::llround(std::fabs(step_s - period_s) * 1e9));
  }
  last_counted_ = shown;
}

void PictureTimes::TakeExtra() {
  if (since_odd_ <= kRepayWithin && hole_open_) {
    // It was late, not missing.
    --times_.missing;
    if (times_.gaps.size() == static_cast<std::size_t>(times_.gap_count) &&
        --times_.gaps.back().missing == 0) {
      times_.gaps.pop_back();
      --times_.gap_count;
      hole_open_ = false;
    }
    return;
  }
  ++times_.surplus;
  since_odd_ = 0;
  hole_open_ = false;
  extra_open_ = true;
}

void PictureTimes::TakeHole(double at_s, double length_s, std::int64_t missing) {
  if (since_odd_ <= kRepayWithin && extra_open_) {
    // The one before came early and left its own place empty.
    --times_.surplus;
    --missing;
    extra_open_ = false;
    if (missing == 0) {
      return;
    }
  }
  times_.missing += missing;
  ++times_.gap_count;
  if (times_.gaps.size() < kMostGaps) {
    times_.gaps.push_back({at_s, length_s, missing});
  }
  since_odd_ = 0;
  hole_open_ = true;
  extra_open_ = false;
}

TrackTimes PictureTimes::Finish(double zero_s) {
  EmptyQueue();
  if (!learnt_) {
    Learn();
  }
  if (beat_) {
    times_.rate = beat_->rate;
    times_.rate_from = beat_->from;
  }
  times_.first_s = first_counted_ ? Seconds(*first_counted_) - zero_s : 0;
  times_.last_s = last_counted_ ? Seconds(*last_counted_) - zero_s : 0;
  for (TimeGap& gap : times_.gaps) {
    gap.at_s -= zero_s;
  }
  for (TimeStep& step : times_.steps) {
    step.at_s -= zero_s;
  }
  constexpr double kMs = 1e-6;
  times_.jitter = {jitter_.Count(), static_cast<double>(jitter_.Percentile(50)) * kMs,
                   static_cast<double>(jitter_.Percentile(99)) * kMs,
                   static_cast<double>(jitter_.Max()) * kMs};
  return times_;
}

}  // namespace probes
