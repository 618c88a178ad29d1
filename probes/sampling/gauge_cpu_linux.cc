// SPDX-License-Identifier: Apache-2.0
//
// CPU time from /proc/stat, clock rate from cpufreq, throttle counters.

#include <cmath>
#include <cstddef>
#include <optional>
#include <vector>

#include "probes/cpu/throttle_counters.h"
#include "probes/cpu/topology.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/telemetry_texts.h"
#include "probes/sampling/telemetry_gauges.h"

namespace probes {
namespace {

// Many files, and some drivers interrupt a CPU to answer: not for every sample.
constexpr double kSlowEverySeconds = 0.95;

/// One file per group of CPUs that change speed together.
std::vector<std::string> FindFrequencyFiles(const base::MachineRoot& root) {
  static constexpr const char* kFolder = "/sys/devices/system/cpu/cpufreq";
  std::vector<std::string> files;
  for (const std::string& name : root.List(kFolder).value_or({})) {
    if (name.starts_with("policy")) {
      files.push_back(std::string(kFolder) + "/" + name + "/scaling_cur_freq");
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

  void Look(double seconds, TelemetrySample* sample) override {
    LookAtTicks(seconds, sample);
    since_slow_s_ += seconds;
    if (sample == nullptr || since_slow_s_ >= kSlowEverySeconds) {
      LookAtSpeed(sample);
      since_slow_s_ = 0;
    }
  }

 private:
  void LookAtTicks(double seconds, TelemetrySample* sample) {
    const auto stat = stat_.Read();
    const auto cpu = stat ? ParseCpuTicks(*stat) : base::Result<CpuTicks>(stat.error());
    if (!cpu) {
      if (!told_missing_) {
        use_missing_("CPU use", cpu.error().detail);
        told_missing_ = true;
      }
      last_.reset();  // what is added next belongs to a longer time
      return;
    }
    auto cores = ParseCoreTicks(*stat).value_or({});
    if (sample != nullptr && last_) {
      const double ticks = seconds * ticks_per_second_;
      sample->busy_cpus = Added(cpu->busy, last_->busy) / ticks;
      sample->steal_cpus = Added(cpu->steal, last_->steal) / ticks;
      sample->interrupt_cpus = Added(cpu->interrupts, last_->interrupts) / ticks;
      for (std::size_t i = 0; i < cores.size() && cores.size() == last_cores_.size(); ++i) {
        const double busy = Added(cores[i].busy, last_cores_[i].busy);
        const double all = busy + Added(cores[i].idle, last_cores_[i].idle) +
                           Added(cores[i].steal, last_cores_[i].steal);
        sample->core_busy_percent.push_back(
            all > 0 ? static_cast<int>(std::lround(100 * busy / all)) : 0);
      }
    }
    last_ = *cpu;
    last_cores_ = std::move(cores);
  }

  void LookAtSpeed(TelemetrySample* sample) {
    const auto events = ReadThrottleEvents(root_, cpus_);
    if (sample != nullptr) {
      sample->mean_mhz = MeanMhz();
      if (events && last_events_) {
        sample->throttle_events = static_cast<std::int64_t>(Added(*events, *last_events_));
      }
    }
    last_events_ = events ? std::optional(*events) : std::nullopt;
  }

  std::optional<double> MeanMhz() const {
    double sum_khz = 0;
    int read = 0;
    for (const std::string& file : frequency_files_) {
      const auto khz = root_.ReadInt(file);
      if (khz && *khz > 0) {
        sum_khz += static_cast<double>(*khz);
        ++read;
      }
    }
    return read > 0 ? std::optional(sum_khz / 1000 / read) : std::nullopt;
  }

  const base::MachineRoot& root_;
  KeptFile stat_;
  const double ticks_per_second_;
  const Missing use_missing_;
  std::vector<std::string> frequency_files_;
  std::vector<int> cpus_;
  std::optional<CpuTicks> last_;
  bool told_missing_ = false;
  std::vector<CpuTicks> last_cores_;
  std::optional<std::int64_t> last_events_;
  double since_slow_s_ = 0;
};

}  // namespace

GaugePtr MakeCpuGauge(const base::MachineRoot& root, double ticks_per_second,
                      const Missing& missing, const Missing& use_missing) {
  return std::make_unique<CpuGauge>(root, ticks_per_second, missing, use_missing);
}

}  // namespace probes
