// SPDX-License-Identifier: Apache-2.0

#include "report/explain/signs.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <optional>

#include <fmt/format.h>

namespace report {
namespace {

using probes::TelemetrySample;
using Getter = std::optional<double> (*)(const TelemetrySample&);

/// A sign that is one member of a sample.
struct PlainSign {
  Sign sign;
  Getter get;
};

std::optional<double> Percent(const std::optional<double>& percent) {
  return percent ? std::optional(*percent / 100) : std::nullopt;
}

const std::vector<PlainSign>& PlainSigns() {
  static const std::vector<PlainSign> signs = {
      {Sign::kRunWait, [](const TelemetrySample& s) { return s.run_wait_cpus; }},
      {Sign::kQuotaThrottled,
       [](const TelemetrySample& s) { return Percent(s.quota_throttled_percent); }},
      {Sign::kDiskWriteMs, [](const TelemetrySample& s) { return s.disk_write_ms; }},
      {Sign::kDiskBusy, [](const TelemetrySample& s) { return Percent(s.disk_busy_percent); }},
      {Sign::kWritersAsleep,
       [](const TelemetrySample& s) { return Percent(s.writers_asleep_percent); }},
      {Sign::kIoPressure, [](const TelemetrySample& s) { return Percent(s.io_pressure_percent); }},
      {Sign::kMemoryPressure,
       [](const TelemetrySample& s) { return Percent(s.memory_pressure_percent); }},
      {Sign::kMajorFaults, [](const TelemetrySample& s) { return s.major_faults_per_second; }},
      {Sign::kSwapBytes, [](const TelemetrySample& s) { return s.swapped_bytes_per_second; }},
      {Sign::kReclaimStalls, [](const TelemetrySample& s) { return s.reclaim_stalls_per_second; }},
      {Sign::kMemoryLimitHits,
       [](const TelemetrySample& s) { return s.memory_limit_hits_per_second; }},
      {Sign::kRetransmits, [](const TelemetrySample& s) { return s.retransmits_per_second; }},
      {Sign::kUnsentBytes, [](const TelemetrySample& s) { return s.unsent_bytes; }},
      {Sign::kReceiverLimited,
       [](const TelemetrySample& s) { return Percent(s.receiver_limited_percent); }},
  };
  return signs;
}

/// Puts the values of one sample into the series of the PC.
class PointTaker {
 public:
  PointTaker(SignSeries& series, double from_s, double to_s)
      : series_(series), from_s_(from_s), to_s_(to_s) {}

  void Take(Sign sign, const std::optional<double>& value) {
    if (value && std::isfinite(*value)) {
      series_[{sign, ""}].push_back({from_s_, to_s_, *value});
    }
  }

 private:
  SignSeries& series_;
  double from_s_;
  double to_s_;
};

void TakeCpu(const TelemetrySample& sample, const CpuCount& cpus, PointTaker& taker) {
  if (sample.busy_cpus) {
    const double taken = *sample.busy_cpus + sample.steal_cpus.value_or(0);
    taker.Take(Sign::kCpuFull, std::min(1.0, std::max(taken / cpus.all,
                                                      sample.own_cpus.value_or(0) / cpus.usable)));
    taker.Take(Sign::kCpuIdle, std::max(0.0, 1 - taken / cpus.all));
  }
  // Counters of ticks over a short sample may add up to more than there is.
  const auto share = [&](double used) { return std::min(1.0, used / cpus.all); };
  if (sample.own_cpus) {
    taker.Take(Sign::kOwn, share(*sample.own_cpus));
    taker.Take(Sign::kOwnActivity, *sample.own_cpus + sample.run_wait_cpus.value_or(0));
  }
  if (const auto others = sample.OtherCpus()) {
    taker.Take(Sign::kOthers, share(*others));
  }
  if (sample.steal_cpus) {
    taker.Take(Sign::kSteal, share(*sample.steal_cpus));
  }
  if (!sample.hot_thread.empty()) {
    taker.Take(Sign::kHotThread, sample.hot_thread_cpus);
  }
  if (!sample.core_busy_percent.empty()) {
    taker.Take(Sign::kFullestCore,
               *std::max_element(sample.core_busy_percent.begin(), sample.core_busy_percent.end()) /
                   100.0);
  }
}

double HighestMhz(const probes::TelemetryRecord& telemetry) {
  double highest = 0;
  for (const TelemetrySample& sample : telemetry.samples) {
    highest = std::max(highest, sample.mean_mhz.value_or(0));
  }
  return highest;
}

}  // namespace

const SignWords& WordsOf(Sign sign) {
  static const std::map<Sign, SignWords> words = {
      {Sign::kCpuFull, {"CPUs at work", 100, " %"}},
      {Sign::kCpuIdle, {"CPUs idle", 100, " %"}},
      {Sign::kOwn, {"our own CPU use", 100, " %", true}},
      {Sign::kOthers, {"CPU use of other processes", 100, " %", true}},
      {Sign::kSteal, {"CPU time taken by the host", 100, " %", true}},
      {Sign::kRunWait, {"our threads waiting for a CPU", 1, " s a second"}},
      {Sign::kOwnActivity, {"our threads running or ready to run", 1, " s a second"}},
      {Sign::kHotThread, {"our busiest thread", 100, " % of one CPU"}},
      {Sign::kFullestCore, {"the busiest CPU", 100, " % busy"}},
      {Sign::kQuotaThrottled, {"periods in which the CPU quota ran out", 100, " %"}},
      {Sign::kClockRate, {"clock rate", 100, " % of its highest"}},
      {Sign::kThrottleEvents, {"throttling by heat or power", 1, " times"}},
      {Sign::kDiskWriteMs, {"a finished write of the disk", 1, " ms"}},
      {Sign::kDiskBusy, {"the disk at work", 100, " % of the time"}},
      {Sign::kWritersAsleep, {"our writers asleep in a write", 100, " %"}},
      {Sign::kIoPressure, {"stalls for I/O (PSI)", 100, " % of the time"}},
      {Sign::kMemoryPressure, {"stalls for memory (PSI)", 100, " % of the time"}},
      {Sign::kMajorFaults, {"our pages that had to come from a disk", 1, " a second"}},
      {Sign::kSwapBytes, {"swapping", 1e-6, " MB a second"}},
      {Sign::kReclaimStalls, {"allocations that waited for memory", 1, " a second"}},
      {Sign::kMemoryLimitHits, {"the memory limit was met", 1, " times a second"}},
      {Sign::kRetransmits, {"TCP segments sent again", 1, " a second"}},
      {Sign::kUnsentBytes, {"data waiting in our sockets all the time", 1e-3, " kB"}},
      {Sign::kReceiverLimited,
       {"waiting for a receiver that takes nothing", 100, " % of the time"}},
      {Sign::kWallClockStepMs, {"step of the wall clock", 1, " ms"}},
      {Sign::kSampleGap, {"the sampler's own heartbeat", 1, " s apart"}},
      {Sign::kEncodeBusy, {"time inside the encoder", 100, " %"}},
      {Sign::kEncodeMs, {"encoding of one frame", 1, " ms"}},
      {Sign::kWriteBusy, {"time inside the writer or sender", 100, " %"}},
      {Sign::kStopped, {"the program's processes stopped by a signal or debugger", 100, " %"}},
      {Sign::kProgramRuns, {"the program running", 100, " % of the time"}},
      {Sign::kSlept, {"the PC suspended", 1, " ms"}},
      {Sign::kGrowth, {"growth of the recordings", 100, " % of the usual"}},
      {Sign::kRoomLeft, {"room left on the recordings' file system", 1, " s of recording"}},
      {Sign::kNetworkDrops, {"errors and drops of network links", 1, " a second"}},
      {Sign::kDatagramsDropped, {"datagrams dropped for full receive buffers", 1, " a second"}},
      {Sign::kGraphicsBusy, {"the graphics engine that the program uses most", 100, " % busy"}},
      {Sign::kInterrupts, {"interrupts on the CPU that serves most", 100, " % of it"}},
      {Sign::kUsbErrors, {"USB errors in the kernel's log", 1, ""}},
      {Sign::kDiskErrors, {"disk errors in the kernel's log", 1, ""}},
      {Sign::kHoleIsStep, {"the hole's length agrees with the clock's step to", 100, " %"}},
      {Sign::kRegularBeat, {"holes that two rates side by side explain", 100, " %"}},
      {Sign::kCutShort, {"the file without its proper end", 1, ""}},
      {Sign::kRoundSize, {"the file as long as a size limit would make it", 1, ""}},
  };
  return words.at(sign);
}

std::string UnitText(const SignWords& words, double cpus) {
  if (!words.of_all_cpus) {
    return words.unit;
  }
  return cpus > 0 ? fmt::format("{} of {:g} CPUs", words.unit, cpus)
                  : std::string(words.unit) + " of all CPUs together";
}

SignSeries SignsOf(const probes::TelemetryRecord& telemetry, const CpuCount& cpus) {
  SignSeries series;
  const double highest_mhz = HighestMhz(telemetry);
  double last_s = 0;
  bool first = true;
  for (const TelemetrySample& sample : telemetry.samples) {
    if (!std::isfinite(sample.at_s)) {
      continue;
    }
    // The first sample covers one period; later ones what lies between.
    const double from_s = first ? sample.at_s - telemetry.period_s : last_s;
    PointTaker taker(series, from_s, sample.at_s);
    TakeCpu(sample, cpus, taker);
    for (const PlainSign& plain : PlainSigns()) {
      taker.Take(plain.sign, plain.get(sample));
    }
    if (sample.mean_mhz && highest_mhz > 0) {
      taker.Take(Sign::kClockRate, *sample.mean_mhz / highest_mhz);
    }
    if (sample.throttle_events) {
      taker.Take(Sign::kThrottleEvents, static_cast<double>(*sample.throttle_events));
    }
    if (sample.wall_clock_step_ms) {
      taker.Take(Sign::kWallClockStepMs, std::fabs(*sample.wall_clock_step_ms));
    }
    taker.Take(Sign::kSampleGap, sample.at_s - from_s);
    last_s = sample.at_s;
    first = false;
  }
  return series;
}

void AddStageSigns(const bench::Rehearsal& rehearsal, SignSeries& series) {
  for (const bench::OutputLedger& output : rehearsal.outputs) {
    for (std::size_t second = 0; second < output.work.size(); ++second) {
      const bench::StageSecond& work = output.work[second];
      const auto from_s = static_cast<double>(second);
      const auto put = [&](Sign sign, double value) {
        series[{sign, output.name}].push_back({from_s, from_s + 1, value});
      };
      put(Sign::kEncodeBusy, work.encode_busy);
      put(Sign::kWriteBusy, work.write_busy);
      if (work.encoded > 0) {
        put(Sign::kEncodeMs, work.encode_busy * 1000 / static_cast<double>(work.encoded));
      }
    }
  }
}

}  // namespace report
