// SPDX-License-Identifier: Apache-2.0

#include "report/compare/load_in_time.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "bench/data/lost_pictures.h"
#include "report/loads/cpu_use.h"

namespace report {
namespace {

/// First whole second after the warm-up.
std::size_t FirstJudged(const bench::Rehearsal& rehearsal) {
  constexpr double kLongest = 1e6;
  return static_cast<std::size_t>(std::ceil(std::clamp(rehearsal.warm_up_seconds, 0.0, kLongest)));
}

/// Means of samples over whole seconds; the warm-up and the last, cut second left out.
template <typename Value>
std::vector<double> BySecond(const std::vector<probes::TelemetrySample>& samples, double from_s,
                             Value value) {
  std::vector<double> seconds;
  double sum = 0;
  int count = 0;
  double second = 0;
  for (const probes::TelemetrySample& sample : samples) {
    const std::optional<double> read = value(sample);
    if (!(sample.at_s > from_s) || !read || !std::isfinite(*read)) {
      continue;
    }
    const double now = std::ceil(sample.at_s);
    if (now != second && count > 0) {
      seconds.push_back(sum / count);
      sum = count = 0;
    }
    second = now;
    sum += *read;
    ++count;
  }
  return seconds;
}

void AddTelemetry(const Evidence& evidence, std::vector<WindowSeries>& all) {
  if (!evidence.telemetry || !evidence.results.rehearsal) {
    return;
  }
  const auto& samples = evidence.telemetry->samples;
  const double from_s = evidence.results.rehearsal->warm_up_seconds;
  const auto use = JudgedCpuUse(evidence.results, evidence.telemetry);
  const double simulation = use ? use->simulation : 0;
  all.push_back({"rehearsal", "CPU in use", "", "CPUs", Better::kLower,
                 BySecond(samples, from_s, [simulation](const probes::TelemetrySample& sample) {
                   return sample.own_cpus
                              ? std::optional(std::max(0.0, *sample.own_cpus - simulation))
                              : std::nullopt;
                 })});
  all.push_back({"rehearsal", "CPU taken by others", "", "CPUs", Better::kLower,
                 BySecond(samples, from_s, [](const probes::TelemetrySample& sample) {
                   return sample.OtherCpus();
                 })});
  all.push_back({"rehearsal", "CPU clock", "", "MHz", Better::kHigher,
                 BySecond(samples, from_s,
                          [](const probes::TelemetrySample& sample) { return sample.mean_mhz; })});
}

template <typename Value>
std::vector<double> Work(const bench::OutputLedger& output, std::size_t first, Value value) {
  std::vector<double> values;
  // The last second may have been cut.
  for (std::size_t i = first; i + 1 < output.work.size(); ++i) {
    values.push_back(value(output.work[i]));
  }
  return values;
}

void AddOutputs(const Evidence& evidence, std::vector<WindowSeries>& all) {
  if (!evidence.results.rehearsal) {
    return;
  }
  const std::size_t first = FirstJudged(*evidence.results.rehearsal);
  for (const bench::OutputLedger& output : evidence.results.rehearsal->outputs) {
    all.push_back(
        {"rehearsal", "encoder at work", output.name, "%", Better::kLower,
         Work(output, first, [](const auto& second) { return 100 * second.encode_busy; })});
    all.push_back(
        {"rehearsal", "longest encode in a second", output.name, "ms", Better::kLower,
         Work(output, first, [](const auto& second) { return second.encode_longest_ms; })});
    all.push_back(
        {"rehearsal", "longest write in a second", output.name, "ms", Better::kLower,
         Work(output, first, [](const auto& second) { return second.write_longest_ms; })});
  }
}

}  // namespace

std::vector<double> SpeedWindows(const bench::Results& results) {
  constexpr std::size_t kWarmUpWindows = 2;
  if (!results.flat_out || !results.flat_out->complete ||
      results.flat_out->window_speeds.size() <= kWarmUpWindows) {
    return {};
  }
  const auto& windows = results.flat_out->window_speeds;
  return {windows.begin() + kWarmUpWindows, windows.end()};
}

std::vector<WindowSeries> SeriesOf(const Evidence& evidence) {
  std::vector<WindowSeries> all;
  all.push_back({"rehearsal", "full-speed run", "", "x real time", Better::kHigher,
                 SpeedWindows(evidence.results)});
  AddTelemetry(evidence, all);
  AddOutputs(evidence, all);
  for (const bench::DiskRun& disk : evidence.results.disks) {
    all.push_back({"disk", "write rate", disk.folder, "bytes/s", Better::kHigher,
                   disk.window_bytes_per_second});
  }
  return all;
}

std::vector<double> DroppedBySecond(const Evidence& evidence) {
  std::vector<double> dropped;
  const auto& rehearsal = evidence.results.rehearsal;
  if (!rehearsal) {
    return dropped;
  }
  const auto add = [&dropped](std::size_t second, std::int64_t frames) {
    dropped.resize(std::max(dropped.size(), second + 1));
    dropped[second] += static_cast<double>(frames);
  };
  for (const bench::OutputLedger& output : rehearsal->outputs) {
    for (std::size_t second = 0; second < output.seconds.size(); ++second) {
      add(second, output.seconds[second].dropped);
    }
  }
  for (const bench::FeedLedger& feed : rehearsal->feeds) {
    for (std::size_t second = 0; second < feed.seconds.size(); ++second) {
      add(second, bench::FeedDropsAlone(*rehearsal, feed, second));
    }
  }
  const std::size_t first = std::min(FirstJudged(*rehearsal), dropped.size());
  dropped.erase(dropped.begin(), dropped.begin() + static_cast<std::ptrdiff_t>(first));
  return dropped;
}

std::int64_t CountOutages(const std::vector<double>& dropped_by_second) {
  std::int64_t outages = 0;
  bool before = false;
  for (const double dropped : dropped_by_second) {
    outages += dropped > 0 && !before ? 1 : 0;
    before = dropped > 0;
  }
  return outages;
}

}  // namespace report
