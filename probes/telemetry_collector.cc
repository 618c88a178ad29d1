#include "probes/telemetry_collector.h"

#include <algorithm>
#include <utility>

#include "probes/cpu_topology.h"
#include "probes/storage.h"
#include "probes/throttle_counters.h"

namespace probes {
namespace {

constexpr std::int64_t kScanEveryNs = 3'000'000'000;
constexpr std::size_t kMostOthers = 8;
constexpr double kSectorBytes = 512;  // of diskstats, whatever the disk's own
constexpr std::array<const char*, 3> kPressureFiles{"/proc/pressure/cpu", "/proc/pressure/io",
                                                    "/proc/pressure/memory"};

double Added(std::int64_t now, std::int64_t before) {
  return static_cast<double>(std::max<std::int64_t>(0, now - before));
}

std::optional<double> AddedPer(const std::optional<std::int64_t>& now,
                               const std::optional<std::int64_t>& before, double per) {
  if (!now || !before) {
    return std::nullopt;
  }
  return Added(*now, *before) / per;
}

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

}  // namespace

TelemetryCollector::TelemetryCollector(const base::MachineRoot& root,
                                       const CollectorRequest& request)
    : root_(root), request_(request), processes_(root_, request.own_pid) {
  frequency_files_ = FindFrequencyFiles(root_);
  if (frequency_files_.empty()) {
    NotRead("CPU frequency", "no cpufreq driver");
  }
  if (const auto online = root_.Read("/sys/devices/system/cpu/online")) {
    cpus_ = ParseCpuList(*online).value_or({});
  }
  const auto throttled = ReadThrottleEvents(root_, cpus_);
  if (throttled) {
    throttle_before_ = *throttled;
  } else {
    NotRead("thermal throttling", throttled.why_unknown());
  }
  groups_ = ReadCpuGroups(root_).value_or({});
  throttled_before_s_ = ThrottledSeconds();
  if (!throttled_before_s_) {
    NotRead("time held back by a CPU quota", "no control group with a CPU controller tells");
  }
  if (!request.folder.empty()) {
    FindDisk(request.folder);
  }
  processes_.Scan();
  last_scan_ns_ = request.start_ns;
}

void TelemetryCollector::NotRead(const std::string& what, const std::string& why) {
  record_.not_read.push_back(what + ": " + why);
}

void TelemetryCollector::FindDisk(const std::filesystem::path& folder) {
  const StorageInventory storage = ReadStorage(root_, folder);
  if (storage.layers.empty()) {
    NotRead("disk writes", storage.why_no_layers);
    return;
  }
  disk_ = storage.layers.front().name;
}

TelemetryCollector::Counters TelemetryCollector::ReadCounters() {
  const bool first = !last_;
  Counters counters;
  const auto stat = root_.Read("/proc/stat", 16 << 20);
  const auto cpu = stat ? ParseCpuTicks(*stat) : base::Result<CpuTicks>(stat.error());
  if (cpu) {
    counters.cpu = *cpu;
  } else if (first) {
    NotRead("CPU use", cpu.error().detail);
  }
  counters.own_ticks = processes_.OwnTicks();
  for (std::size_t i = 0; i < kPressureFiles.size(); ++i) {
    const auto text = root_.Read(kPressureFiles.at(i));
    const auto total =
        text ? ParsePressureTotalUs(*text) : base::Result<std::int64_t>(text.error());
    if (total) {
      counters.pressure_us.at(i) = *total;
    } else if (first) {
      NotRead(kPressureFiles.at(i), total.error().detail);
    }
  }
  if (!disk_.empty()) {
    const auto text = root_.Read("/proc/diskstats");
    const auto sectors =
        text ? ParseSectorsWritten(*text, disk_) : base::Result<std::int64_t>(text.error());
    if (sectors) {
      counters.sectors_written = *sectors;
    } else if (first) {
      NotRead("disk writes", sectors.error().detail);
    }
  }
  return counters;
}

std::optional<double> TelemetryCollector::MeanMhz() const {
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

std::optional<double> TelemetryCollector::DirtyBytes() const {
  const auto text = root_.Read("/proc/meminfo");
  const MemInfo info = text ? ParseMemInfo(*text) : MemInfo{};
  if (!info.dirty_bytes) {
    return std::nullopt;
  }
  return static_cast<double>(*info.dirty_bytes) +
         static_cast<double>(info.writeback_bytes.value_or(0));
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

void TelemetryCollector::Sample(std::int64_t now_ns) {
  const Counters now = ReadCounters();
  const double seconds = static_cast<double>(now_ns - last_ns_) / 1e9;
  if (last_ && seconds <= 0) {
    return;
  }
  if (last_) {
    const Counters& before = *last_;
    const double ticks = seconds * request_.ticks_per_second;
    TelemetrySample sample;
    sample.at_s = static_cast<double>(now_ns - request_.start_ns) / 1e9;
    if (now.cpu && before.cpu) {
      sample.busy_cpus = Added(now.cpu->busy, before.cpu->busy) / ticks;
      sample.steal_cpus = Added(now.cpu->steal, before.cpu->steal) / ticks;
    }
    sample.own_cpus = Added(now.own_ticks, before.own_ticks) / ticks;
    sample.mean_mhz = MeanMhz();
    sample.dirty_bytes = DirtyBytes();
    sample.disk_write_bytes_per_second =
        AddedPer(now.sectors_written, before.sectors_written, seconds / kSectorBytes);
    const double us_per_percent = seconds * 1e6 / 100;
    const auto pressure = [&](std::size_t which) {
      auto percent =
          AddedPer(now.pressure_us.at(which), before.pressure_us.at(which), us_per_percent);
      return percent ? std::optional(std::min(100.0, *percent)) : std::nullopt;
    };
    sample.cpu_pressure_percent = pressure(0);
    sample.io_pressure_percent = pressure(1);
    sample.memory_pressure_percent = pressure(2);
    record_.samples.push_back(sample);
  }
  last_ = now;
  last_ns_ = now_ns;
  // After the counters: a scan takes a while, and `now_ns` would be wrong for what is read then.
  if (now_ns - last_scan_ns_ >= kScanEveryNs) {
    processes_.Scan();
    last_scan_ns_ = now_ns;
  }
}

TelemetryRecord TelemetryCollector::Finish() {
  if (last_) {
    processes_.Scan();
    record_.others = processes_.Busiest(kMostOthers, request_.ticks_per_second);
  }
  const auto throttle = ReadThrottleEvents(root_, cpus_);
  if (throttle && throttle_before_) {
    record_.throttle_events = std::max<std::int64_t>(0, *throttle - *throttle_before_);
  }
  const auto throttled_s = ThrottledSeconds();
  if (throttled_s && throttled_before_s_) {
    record_.quota_throttled_seconds = std::max(0.0, *throttled_s - *throttled_before_s_);
  }
  return std::exchange(record_, {});
}

}  // namespace probes
