// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/times/gap_list.h"

#include <algorithm>
#include <cmath>

namespace probes {
namespace {

constexpr std::size_t kMostStretches = 4096;

}  // namespace

void GapList::Add(const TimeGap& gap) {
  if (count_ == 0) {
    first_s_ = gap.at_s;
  }
  ++count_;
  missing_ += gap.missing;
  seconds_ += gap.length_s;
  last_ = gap;
  if (gaps_.size() < kMostGaps) {
    gaps_.push_back(gap);
  }
  Sum(gap.at_s, gap.missing);
}

bool GapList::TakeBack() {
  if (count_ == 0 || last_.missing == 0) {
    return false;
  }
  const bool kept = gaps_.size() == static_cast<std::size_t>(count_);
  const double one_s = last_.length_s / static_cast<double>(last_.missing);
  last_.length_s -= one_s;
  --last_.missing;
  --missing_;
  seconds_ -= one_s;
  Sum(last_.at_s, -1);
  if (kept) {
    gaps_.back() = last_;
  }
  if (last_.missing == 0) {
    --count_;
    if (kept) {
      gaps_.pop_back();
    }
  }
  return true;
}

void GapList::Drop() {
  if (count_ == 0) {
    return;
  }
  if (gaps_.size() == static_cast<std::size_t>(count_)) {
    gaps_.pop_back();
  }
  --count_;
  missing_ -= last_.missing;
  seconds_ -= last_.length_s;
  Sum(last_.at_s, -last_.missing);
  last_ = {};
}

void GapList::Sum(double at_s, std::int64_t missing) {
  const double since_s = std::max(0.0, at_s - first_s_);
  if (!std::isfinite(since_s)) {
    return;
  }
  while (since_s >= stretch_s_ * static_cast<double>(kMostStretches)) {
    Halve();
  }
  const auto index = static_cast<std::size_t>(since_s / stretch_s_);
  if (index >= stretches_.size()) {
    stretches_.resize(index + 1);
  }
  stretches_[index] += missing;
}

void GapList::Halve() {
  for (std::size_t i = 0; i < stretches_.size(); ++i) {
    const std::int64_t sum = stretches_[i];
    stretches_[i] = 0;
    stretches_[i / 2] += sum;
  }
  stretches_.resize((stretches_.size() + 1) / 2);
  stretch_s_ *= 2;
}

void GapList::Finish(double zero_s, TrackTimes& times) {
  times.gap_count = count_;
  times.missing = missing_;
  times.gap_seconds = seconds_;
  times.gaps = gaps_;
  for (TimeGap& gap : times.gaps) {
    gap.at_s -= zero_s;
  }
  times.missing_in_part = {};
  if (!(times.end_s > times.first_s)) {
    return;
  }
  const auto add = [&](double at_s, std::int64_t missing) {
    times.missing_in_part.at(PartOf(times, at_s)) += missing;
  };
  if (gaps_.size() == static_cast<std::size_t>(count_)) {
    for (const TimeGap& gap : times.gaps) {
      add(gap.at_s, gap.missing);
    }
    return;
  }
  // More than are kept: their stretches are coarser.
  for (std::size_t i = 0; i < stretches_.size(); ++i) {
    add(first_s_ - zero_s + stretch_s_ * static_cast<double>(i), stretches_[i]);
  }
}

}  // namespace probes
