// SPDX-License-Identifier: Apache-2.0
//
// Signs that only a watched program has.

#include <algorithm>
#include <cmath>
#include <optional>
#include <string_view>
#include <vector>

#include "base/stats/percentile.h"
#include "report/explain/signs.h"

namespace report {
namespace {

using probes::WatchSample;

/// Growth comes in the clusters of containers: means over this long.
constexpr double kGrowthWindowSeconds = 1.5;

struct WatchSign {
  Sign sign;
  std::optional<double> (*get)(const WatchSample&);
};

std::optional<double> Share(const std::optional<double>& percent) {
  return percent ? std::optional(*percent / 100) : std::nullopt;
}

std::optional<double> BusiestEngine(const WatchSample& sample) {
  std::optional<double> most;
  for (const probes::WatchEngineSample& engine : sample.engines) {
    if (engine.own_percent > 1) {
      most = std::max(engine.busy_percent / 100, most.value_or(0));
    }
  }
  return most;
}

const std::vector<WatchSign>& WatchSigns() {
  static const std::vector<WatchSign> signs = {
      {Sign::kStopped, [](const WatchSample& s) { return Share(s.stopped_percent); }},
      {Sign::kProgramRuns,
       [](const WatchSample& s) { return std::optional(s.program_runs ? 1.0 : 0.0); }},
      {Sign::kSlept, [](const WatchSample& s) { return std::optional(s.slept_ms.value_or(0)); }},
      {Sign::kNetworkDrops, [](const WatchSample& s) { return s.pc.network_drops_per_second; }},
      {Sign::kDatagramsDropped,
       [](const WatchSample& s) { return s.datagrams_dropped_per_second; }},
      {Sign::kGraphicsBusy, BusiestEngine},
      {Sign::kInterrupts, [](const WatchSample& s) { return Share(s.fullest_irq_percent); }},
  };
  return signs;
}

/// Median growth while recordings grow; 0: they never do.
double UsualGrowth(const std::vector<WatchSample>& samples) {
  std::vector<double> rates;
  double bytes = 0;
  double seconds = 0;
  for (const WatchSample& sample : samples) {
    bytes += sample.recording_bytes_per_second.value_or(0) * sample.seconds;
    seconds += sample.seconds;
    if (seconds >= kGrowthWindowSeconds) {
      if (bytes > 0) {
        rates.push_back(bytes / seconds);
      }
      bytes = 0;
      seconds = 0;
    }
  }
  return rates.empty() ? 0 : base::Percentile(rates, 50);
}

/// Growth before and at a moment, and what is left at the usual growth.
void AddGrowth(const probes::WatchLog& log, SignSeries& series) {
  const double usual = UsualGrowth(log.samples);
  if (usual <= 0) {
    return;
  }
  double bytes = 0;
  double seconds = 0;
  std::size_t oldest = 0;
  for (const WatchSample& sample : log.samples) {
    if (sample.recording_free_bytes) {
      series[{Sign::kRoomLeft, ""}].push_back(
          {sample.pc.at_s - sample.seconds, sample.pc.at_s, *sample.recording_free_bytes / usual});
    }
    bytes += sample.recording_bytes_per_second.value_or(0) * sample.seconds;
    seconds += sample.seconds;
    while (seconds - log.samples[oldest].seconds >= kGrowthWindowSeconds) {
      bytes -=
          log.samples[oldest].recording_bytes_per_second.value_or(0) * log.samples[oldest].seconds;
      seconds -= log.samples[oldest].seconds;
      ++oldest;
    }
    if (sample.recording_bytes_per_second && seconds > 0) {
      series[{Sign::kGrowth, ""}].push_back({sample.pc.at_s - sample.seconds, sample.pc.at_s,
                                             std::max(0.0, bytes) / seconds / usual});
    }
  }
}

/// Lines of the kernel's log about `causes` in each sample.
void AddKernelLines(const probes::WatchLog& log, Sign sign,
                    const std::vector<std::string_view>& causes, SignSeries& series) {
  if (!log.kernel_lines_read) {
    return;
  }
  for (const WatchSample& sample : log.samples) {
    const double from_s = sample.pc.at_s - sample.seconds;
    const auto lines = std::count_if(
        log.kernel_lines.begin(), log.kernel_lines.end(), [&](const probes::KernelLogLine& line) {
          return line.at_s > from_s && line.at_s <= sample.pc.at_s && line.weight != "note" &&
                 std::find(causes.begin(), causes.end(), line.cause) != causes.end();
        });
    series[{sign, ""}].push_back({from_s, sample.pc.at_s, static_cast<double>(lines)});
  }
}

}  // namespace

void AddWatchSigns(const probes::WatchLog& log, SignSeries& series) {
  for (const WatchSample& sample : log.samples) {
    if (!std::isfinite(sample.pc.at_s) || !(sample.seconds > 0)) {
      continue;
    }
    for (const WatchSign& sign : WatchSigns()) {
      const auto value = sign.get(sample);
      if (value && std::isfinite(*value)) {
        series[{sign.sign, ""}].push_back(
            {sample.pc.at_s - sample.seconds, sample.pc.at_s, *value});
      }
    }
  }
  AddGrowth(log, series);
  AddKernelLines(log, Sign::kUsbErrors,
                 {"usb-errors", "usb-bus-shared", "usb-link-fell-back", "usb-autosuspend"}, series);
  AddKernelLines(log, Sign::kDiskErrors, {"disk-stall", "disk-too-slow"}, series);
}

}  // namespace report
