// SPDX-License-Identifier: Apache-2.0
//
// CPU time from /proc/stat, clock rates from cpufreq, throttle counters.

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/text.h"
#include "probes/cpu/throttle_counters.h"
#include "probes/cpu/topology.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/system_texts.h"
#include "probes/sampling/gauges.h"

namespace probes {
namespace {

// Many files, and some drivers interrupt a CPU to answer: not for every sample.
constexpr double kSlowEverySeconds = 0.95;

/// One file per group of CPUs that change speed together.
std::vector<KeptFile> FindFrequencyFiles(const base::MachineRoot& root) {
  static constexpr const char* kFolder = "/sys/devices/system/cpu/cpufreq";
  std::vector<KeptFile> files;
  for (const std::string& name : root.List(kFolder).value_or({})) {
    if (name.starts_with("policy")) {
      files.emplace_back(root, std::string(kFolder) + "/" + name + "/scaling_cur_freq");
    }
  }
  return files;
}

class CpuGauge : public Gauge {
 public:
  CpuGauge(const base::MachineRoot& root, double ticks_per_second, const Missing& missing,
           Missing use_missing)
      : root_(root),
        stat_(root, "/proc/stat"),
        ticks_per_second_(ticks_per_second),
        use_missing_(std::move(use_missing)) {
    frequency_files_ = FindFrequencyFiles(root_);
    if (frequency_files_.empty()) {
      missing("CPU frequency", "no cpufreq driver");
    }
    if (const auto online = root_.Read("/sys/devices/system/cpu/online")) {
      cpus_ = ParseCpuList(*online).value_or({});
    }
    const auto events = ReadThrottleEvents(root_, cpus_);
    if (!events) {
      missing("thermal throttling", events.why_unknown());
      cpus_.clear();
    }
  }

  void Look(double seconds, WatchSample* sample) override {
    const auto text = stat_.Read();
    auto now = text ? ParseStatTicks(*text) : base::Result<StatTicks>(text.error());
    if (!now && !told_missing_) {
      use_missing_("CPU use", now.error().detail);
      told_missing_ = true;
    }
    if (sample != nullptr && now && last_) {
      PutUse(*last_, *now, seconds * ticks_per_second_, sample->pc);
    }
    since_slow_s_ += seconds;
    if (sample == nullptr || since_slow_s_ >= kSlowEverySeconds) {
      if (now && slow_last_ && sample != nullptr) {
        PutInterrupts(*slow_last_, *now, since_slow_s_ * ticks_per_second_, *sample);
      }
      slow_last_ = now ? std::optional(*now) : std::nullopt;
      LookAtSpeed(sample);
      since_slow_s_ = 0;
    }
    // Where it was not read, what is added next belongs to a longer time.
    last_ = now ? std::optional(*std::move(now)) : std::nullopt;
  }

 private:
  static void PutUse(const StatTicks& before, const StatTicks& now, double ticks,
                     TelemetrySample& pc) {
    pc.busy_cpus = Added(now.all.busy, before.all.busy) / ticks;
    pc.steal_cpus = Added(now.all.steal, before.all.steal) / ticks;
    pc.interrupt_cpus = Added(now.all.interrupts, before.all.interrupts) / ticks;
    for (std::size_t i = 0; i < now.cores.size() && now.cores.size() == before.cores.size(); ++i) {
      const double busy = Added(now.cores[i].busy, before.cores[i].busy);
      const double all = busy + Added(now.cores[i].idle, before.cores[i].idle) +
                         Added(now.cores[i].steal, before.cores[i].steal);
      pc.core_busy_percent.push_back(all > 0 ? static_cast<int>(std::lround(100 * busy / all)) : 0);
    }
  }

  static void PutInterrupts(const StatTicks& before, const StatTicks& now, double ticks,
                            WatchSample& sample) {
    if (now.cores.empty() || now.cores.size() != before.cores.size()) {
      return;
    }
    double all = 0;
    double most = 0;
    for (std::size_t i = 0; i < now.cores.size(); ++i) {
      const double cpus = Added(now.cores[i].interrupts, before.cores[i].interrupts) / ticks;
      all += cpus;
      most = std::max(most, cpus);
    }
    sample.softirq_cpus = all;
    sample.fullest_irq_percent = std::min(100.0, 100 * most);
  }

  void LookAtSpeed(WatchSample* sample) {
    const auto events = ReadThrottleEvents(root_, cpus_);
    if (sample != nullptr) {
      PutClocks(*sample);
      if (events && last_events_) {
        sample->pc.throttle_events = static_cast<std::int64_t>(Added(*events, *last_events_));
      }
    }
    last_events_ = events ? std::optional(*events) : std::nullopt;
  }

  void PutClocks(WatchSample& sample) {
    double sum_mhz = 0;
    int read = 0;
    for (KeptFile& file : frequency_files_) {
      const auto text = file.Read();
      const auto khz = text ? base::ParseInt(base::Trim(*text)) : std::nullopt;
      if (khz && *khz > 0) {
        const double mhz = static_cast<double>(*khz) / 1000;
        sum_mhz += mhz;
        ++read;
        sample.lowest_mhz = std::min(mhz, sample.lowest_mhz.value_or(mhz));
      }
    }
    if (read > 0) {
      sample.pc.mean_mhz = sum_mhz / read;
    }
  }

  const base::MachineRoot& root_;
  KeptFile stat_;
  const double ticks_per_second_;
  const Missing use_missing_;
  std::vector<KeptFile> frequency_files_;
  std::vector<int> cpus_;
  std::optional<StatTicks> last_;
  std::optional<StatTicks> slow_last_;
  bool told_missing_ = false;
  std::optional<std::int64_t> last_events_;
  double since_slow_s_ = 0;
};

}  // namespace

GaugePtr MakeCpuGauge(const base::MachineRoot& root, double ticks_per_second,
                      const Missing& missing, const Missing& use_missing) {
  return std::make_unique<CpuGauge>(root, ticks_per_second, missing, use_missing);
}

}  // namespace probes
