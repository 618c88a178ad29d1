// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/ledger.h"

#include <algorithm>
#include <utility>

extern "C" {
#include <libavutil/mathematics.h>
}

namespace bench {
namespace {

constexpr std::int64_t kNsPerSecond = 1'000'000'000;
constexpr std::int64_t kFinestBucketNs = 100'000;

}  // namespace

std::int64_t DueNs(std::int64_t index, const base::Rational& rate) {
  return av_rescale_rnd(index, rate.denominator() * kNsPerSecond, rate.numerator(), AV_ROUND_DOWN);
}

LedgerWindow& Ledger::WindowOf(std::int64_t index) {
  const auto second = static_cast<std::size_t>(DueNs(index, rate_) / kNsPerSecond);
  if (second >= windows_.size()) {
    windows_.resize(second + 1);
    in_flight_.resize(second + 1);
  }
  return windows_[second];
}

void Ledger::Due(std::int64_t index) {
  const std::scoped_lock lock(mutex_);
  LedgerWindow& window = WindowOf(index);
  ++window.due;
  ++in_flight_[static_cast<std::size_t>(&window - windows_.data())];
  ++totals_.due;
}

void Ledger::CountDelivered(std::int64_t index) {
  LedgerWindow& window = WindowOf(index);
  ++window.delivered;
  --in_flight_[static_cast<std::size_t>(&window - windows_.data())];
  ++totals_.delivered;
}

void Ledger::Delivered(std::int64_t index, std::int64_t lateness_ns, std::int64_t now_ns) {
  const std::scoped_lock lock(mutex_);
  CountDelivered(index);
  lateness_.Record(std::max<std::int64_t>(lateness_ns, 0));
  if (lateness_ns > DueNs(1, rate_)) {
    ++WindowOf(index).late;
    ++totals_.late;
  }
  if (first_delivery_ns_ < 0) {
    first_delivery_ns_ = std::max<std::int64_t>(now_ns, 0);
  }
}

void Ledger::DeliveredAtEnd(std::int64_t index) {
  const std::scoped_lock lock(mutex_);
  CountDelivered(index);
}

void Ledger::Dropped(std::int64_t index, Stage stage) {
  const std::scoped_lock lock(mutex_);
  LedgerWindow& window = WindowOf(index);
  ++window.dropped;
  --in_flight_[static_cast<std::size_t>(&window - windows_.data())];
  ++totals_.dropped;
  if (!runs_.empty() && runs_.back().last + 1 == index && runs_.back().stage == stage) {
    runs_.back().last = index;
    ++runs_.back().frames;
  } else if (runs_.size() < kMostRuns) {
    runs_.push_back({index, index, 1, stage});
  } else {
    ++runs_left_out_;
  }
}

void Ledger::Withdraw() {
  const std::scoped_lock lock(mutex_);
  for (std::size_t second = 0; second < windows_.size(); ++second) {
    windows_[second].due -= in_flight_[second];
    totals_.due -= in_flight_[second];
    totals_.withdrawn += in_flight_[second];
    in_flight_[second] = 0;
  }
}

void Ledger::LoseInFlight(Stage stage) {
  const std::scoped_lock lock(mutex_);
  for (std::size_t second = 0; second < windows_.size(); ++second) {
    const std::int64_t lost = std::exchange(in_flight_[second], 0);
    if (lost > 0) {
      windows_[second].dropped += lost;
      totals_.dropped += lost;
      // Which frames of the second they were is not known: shown at its start.
      const auto first =
          static_cast<std::int64_t>(static_cast<double>(second) * base::ToDouble(rate_));
      runs_.push_back({first, first, lost, stage});
    }
  }
}

Ledger::Totals Ledger::totals() const {
  const std::scoped_lock lock(mutex_);
  return totals_;
}

std::int64_t Ledger::first_delivery_ns() const {
  const std::scoped_lock lock(mutex_);
  return first_delivery_ns_;
}

std::vector<LedgerWindow> Ledger::windows() const {
  const std::scoped_lock lock(mutex_);
  return windows_;
}

Lateness Ledger::lateness() const {
  const std::scoped_lock lock(mutex_);
  const auto ms = [](std::int64_t ns) { return static_cast<double>(ns) / 1e6; };
  Lateness lateness;
  lateness.p50_ms = ms(lateness_.Percentile(50));
  lateness.p95_ms = ms(lateness_.Percentile(95));
  lateness.p99_ms = ms(lateness_.Percentile(99));
  lateness.max_ms = ms(lateness_.Max());
  // An eighth of the value is fine enough to draw; the percentiles above are finer.
  std::int64_t begun_ns = 0;
  for (const auto& bucket : lateness_.Buckets()) {
    if (lateness.histogram.empty() || bucket.up_to_ns > begun_ns + begun_ns / 8) {
      lateness.histogram.push_back({0, 0});
      begun_ns = std::max<std::int64_t>(bucket.low_ns, kFinestBucketNs);
    }
    lateness.histogram.back().up_to_ms = ms(bucket.up_to_ns);
    lateness.histogram.back().frames += bucket.count;
  }
  return lateness;
}

std::vector<DropRun> Ledger::drop_runs(const std::string& output) const {
  const std::scoped_lock lock(mutex_);
  std::vector<DropRun> drops;
  for (const Run& run : runs_) {
    drops.push_back({output, static_cast<double>(DueNs(run.first, rate_)) / 1e9, run.frames,
                     run.stage, "not known"});
  }
  return drops;
}

std::int64_t Ledger::drop_runs_left_out() const {
  const std::scoped_lock lock(mutex_);
  return runs_left_out_;
}

}  // namespace bench
