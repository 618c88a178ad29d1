// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/telemetry_collector.h"

#include <algorithm>
#include <utility>

namespace probes {
namespace {

constexpr std::int64_t kScanEveryNs = 3'000'000'000;
/// When others suddenly take this much, they are looked for sooner.
constexpr double kOthersJumpCpus = 0.3;
constexpr std::int64_t kScanSoonNs = 1'000'000'000;
constexpr std::size_t kMostOthers = 8;
constexpr std::size_t kMostDiskOthers = 3;

}  // namespace

TelemetryCollector::TelemetryCollector(const base::MachineRoot& root,
                                       const CollectorRequest& request)
    : root_(root), request_(request), processes_(root_, request.own_pid, request.helper_pid) {
  const Missing missing = [this](const std::string& what, const std::string& why) {
    NotRead(what, why);
  };
  const Missing use_missing = [this](const std::string& what, const std::string& why) {
    record_.cpu_use_not_read = NotRead(what, why);
  };
  // What moves fastest is looked at first, close to the moment that the caller told.
  gauges_.push_back(MakeThreadGauge(root_, request.own_pid, request.writer_prefix, missing));
  gauges_.push_back(MakeCpuGauge(root_, request.ticks_per_second, missing, use_missing));
  gauges_.push_back(MakeQuotaGauge(root_, missing));
  gauges_.push_back(MakeDiskGauge(root_, request.folder, request.own_pid, missing));
  gauges_.push_back(MakeMemoryGauge(root_, request.own_pid, missing));
  gauges_.push_back(MakePressureGauge(root_, missing));
  gauges_.push_back(MakeNetworkGauge(root_, missing));
  if (request.own_sockets) {
    gauges_.push_back(MakeOwnSocketGauge());
  }
  groups_ = ReadCpuGroups(root_).value_or({});
  throttled_before_s_ = ThrottledSeconds();
  record_.zero_ns = request.start_ns;
  processes_.Scan();
  processes_.LookAtDisks();
  last_scan_ns_ = request.start_ns;
}

const std::string& TelemetryCollector::NotRead(const std::string& what, const std::string& why) {
  return record_.not_read.emplace_back(what + ": " + why);
}

std::optional<double> TelemetryCollector::ThrottledSeconds() const {
  // A quota may sit on any group above ours; the one that held back most is the one that counts.
  std::optional<double> most;
  for (const std::string& folder : groups_.folders) {
    const auto text = root_.Read(folder + "/cpu.stat");
    const auto seconds = text ? ParseThrottledSeconds(*text) : std::nullopt;
    if (seconds) {
      most = std::max(*seconds, most.value_or(0));
    }
  }
  return most;
}

void TelemetryCollector::LookAtProcesses(double seconds, TelemetrySample* sample) {
  const auto own_ticks = processes_.OwnTicks();
  if (!own_ticks && !told_own_missing_) {
    record_.own_cpu_use_not_read = NotRead(
        "own CPU use", "/proc/" + std::to_string(request_.own_pid) + "/stat cannot be read");
    told_own_missing_ = true;
  }
  const auto top = processes_.TopOther(request_.ticks_per_second);
  if (sample != nullptr) {
    if (own_ticks && last_own_ticks_) {
      sample->own_cpus =
          Added(*own_ticks, *last_own_ticks_) / (seconds * request_.ticks_per_second);
    }
    if (top) {
      sample->top_other = top->name;
      sample->top_other_pid = top->pid;
      sample->top_other_cpus = top->cpu_seconds / seconds;
    }
  }
  last_own_ticks_ = own_ticks;
}

void TelemetryCollector::LookAtClock(std::int64_t now_ns, std::optional<std::int64_t> wall_ns,
                                     TelemetrySample* sample) {
  if (!wall_ns) {
    return;
  }
  const std::int64_t ahead_ns = *wall_ns - now_ns;
  if (sample != nullptr && last_wall_ahead_ns_) {
    sample->wall_clock_step_ms = static_cast<double>(ahead_ns - *last_wall_ahead_ns_) / 1e6;
  }
  last_wall_ahead_ns_ = ahead_ns;
}

bool TelemetryCollector::TimeToScan(std::int64_t now_ns, const TelemetrySample* sample) const {
  const std::int64_t since_ns = now_ns - last_scan_ns_;
  if (since_ns >= kScanEveryNs) {
    return true;
  }
  return sample != nullptr && since_ns >= kScanSoonNs &&
         sample->OtherCpus().value_or(0) - sample->top_other_cpus > kOthersJumpCpus;
}

void TelemetryCollector::Sample(std::int64_t now_ns, std::optional<std::int64_t> wall_ns) {
  const double seconds = static_cast<double>(now_ns - last_ns_) / 1e9;
  if (begun_ && seconds <= 0) {
    return;
  }
  TelemetrySample made;
  TelemetrySample* sample = begun_ ? &made : nullptr;
  LookAtClock(now_ns, wall_ns, sample);
  LookAtProcesses(seconds, sample);
  for (const GaugePtr& gauge : gauges_) {
    gauge->Look(begun_ ? seconds : 0, sample);
  }
  if (sample != nullptr) {
    made.at_s = static_cast<double>(now_ns - request_.start_ns) / 1e9;
  }
  first_ns_ = begun_ ? first_ns_ : now_ns;
  begun_ = true;
  last_ns_ = now_ns;
  // After the counters: a scan takes a while, and `now_ns` would be wrong for what is read then.
  if (TimeToScan(now_ns, sample)) {
    processes_.Scan();
    for (const GaugePtr& gauge : gauges_) {
      gauge->LookAround();
    }
    last_scan_ns_ = now_ns;
  }
  if (sample != nullptr) {
    record_.samples.push_back(std::move(made));
  }
}

TelemetryRecord TelemetryCollector::Finish() {
  if (begun_) {
    processes_.Scan();
    processes_.LookAtDisks();
    record_.others = processes_.Busiest(kMostOthers, request_.ticks_per_second);
    record_.disk_others = processes_.DiskUsers(kMostDiskOthers);
    record_.watched_s = static_cast<double>(last_ns_ - first_ns_) / 1e9;
    if (const auto kernel = processes_.KernelTicks()) {
      record_.kernel_cpu_seconds = static_cast<double>(*kernel) / request_.ticks_per_second;
    }
  }
  for (const TelemetrySample& sample : record_.samples) {
    if (sample.throttle_events) {
      record_.throttle_events = record_.throttle_events.value_or(0) + *sample.throttle_events;
    }
  }
  const auto throttled_s = ThrottledSeconds();
  if (throttled_s && throttled_before_s_) {
    record_.quota_throttled_seconds = std::max(0.0, *throttled_s - *throttled_before_s_);
  }
  return std::exchange(record_, {});
}

}  // namespace probes
