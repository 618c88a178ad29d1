// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/telemetry_collector.h"

#include <algorithm>
#include <utility>

#include "probes/procfs/kept_file.h"
#include "probes/storage/storage.h"

namespace probes {
namespace {

constexpr std::int64_t kScanAgainNs = 1'000'000'000;
constexpr std::size_t kMostOthers = 8;
constexpr std::size_t kMostDiskOthers = 3;

std::int64_t UsedBy(const KnownProcess& process) {
  return std::max<std::int64_t>(0, process.latest.own - process.before);
}

}  // namespace

ProcessSums::ProcessSums(const base::MachineRoot& root, ProcessTable& table,
                         std::function<bool(int pid)> is_ours)
    : root_(root), table_(table), is_ours_(std::move(is_ours)) {
  table.OnGone([this](const KnownProcess& process) {
    if (!is_ours_(process.latest.pid) && UsedBy(process) > 0) {
      gone_.push_back(process);
    }
  });
}

void ProcessSums::ForEachOther(const std::function<void(const KnownProcess&)>& take) const {
  for (const KnownProcess& process : gone_) {
    take(process);
  }
  for (const auto& [pid, process] : table_.all()) {
    if (!is_ours_(pid)) {
      take(process);
    }
  }
}

std::vector<ProcessShare> ProcessSums::Busiest(std::size_t most, double ticks_per_second) const {
  std::vector<ProcessShare> shares;
  ForEachOther([&](const KnownProcess& process) {
    if (UsedBy(process) > 0 && !table_.OfKernel(process.latest)) {
      shares.push_back({process.latest.name, process.latest.pid,
                        static_cast<double>(UsedBy(process)) / ticks_per_second});
    }
  });
  std::stable_sort(shares.begin(), shares.end(), [](const ProcessShare& a, const ProcessShare& b) {
    return a.cpu_seconds > b.cpu_seconds;
  });
  shares.resize(std::min(shares.size(), most));
  return shares;
}

std::optional<std::int64_t> ProcessSums::KernelTicks() const {
  std::optional<std::int64_t> ticks;
  ForEachOther([&](const KnownProcess& process) {
    if (table_.OfKernel(process.latest)) {
      ticks = ticks.value_or(0) + UsedBy(process);
    }
  });
  return ticks;
}

void ProcessSums::LookAtDisks() {
  for (const auto& [pid, process] : table_.all()) {
    if (is_ours_(pid) || table_.OfKernel(process.latest)) {
      continue;
    }
    const auto text = ReadOnce(root_, "/proc/" + std::to_string(pid) + "/io");
    const auto bytes = text ? ParseProcessIo(*text).disk_bytes : std::nullopt;
    if (!bytes) {
      continue;  // another user's, or it has ended
    }
    DiskUse& use = disks_[{pid, process.latest.start}];
    use.latest = {process.latest.name, pid, static_cast<double>(*bytes)};
    if (!disks_seen_) {
      use.before = use.latest.bytes;
    }
  }
  disks_seen_ = true;
}

std::optional<std::vector<ProcessBytes>> ProcessSums::DiskUsers(std::size_t most) const {
  if (disks_.empty()) {
    return std::nullopt;
  }
  std::vector<ProcessBytes> users;
  for (const auto& [key, use] : disks_) {
    if (use.latest.bytes > use.before) {
      users.push_back({use.latest.name, use.latest.pid, use.latest.bytes - use.before});
    }
  }
  std::stable_sort(users.begin(), users.end(),
                   [](const ProcessBytes& a, const ProcessBytes& b) { return a.bytes > b.bytes; });
  users.resize(std::min(users.size(), most));
  return users;
}

TelemetryCollector::TelemetryCollector(const base::MachineRoot& root,
                                       const CollectorRequest& request)
    : request_(request),
      sampler_(
          root, Sampling(root),
          [this](const std::string& what, const std::string& why) { NotRead(what, why); },
          [this](const std::string& what, const std::string& why) {
            record_.cpu_use_not_read = NotRead(what, why);
          }),
      sums_(sampler_.root(), sampler_.table(),
            [this](int pid) { return sampler_.ours().Are(pid); }) {
  const Missing missing = [this](const std::string& what, const std::string& why) {
    NotRead(what, why);
  };
  // Sampling() has found it.
  if (!sampler_.disk().empty()) {
    sampler_.Add(MakeDiskUseGauge(sampler_.root(), request.own_pid, missing));
  }
  if (request.own_sockets) {
    sampler_.Add(MakeOwnSocketGauge());
  }
  groups_ = ReadCpuGroups(root).value_or({});
  throttled_before_s_ = ThrottledSeconds();
  record_.zero_ns = request.start_ns;
  sums_.LookAtDisks();
}

SamplerRequest TelemetryCollector::Sampling(const base::MachineRoot& root) {
  SamplerRequest sampling;
  sampling.ticks_per_second = request_.ticks_per_second;
  sampling.start_ns = request_.start_ns;
  sampling.ours = {request_.own_pid, request_.helper_pid, true};
  sampling.writer_prefix = request_.writer_prefix;
  sampling.scan_again_ns = kScanAgainNs;
  sampling.disks = Disks::kOne;
  if (!request_.folder.empty()) {
    const StorageInventory storage = ReadStorage(root, request_.folder);
    if (storage.layers.empty()) {
      NotRead("disk writes", storage.why_no_layers);
    } else {
      sampling.disk = storage.layers.front().name;
    }
  }
  return sampling;
}

const std::string& TelemetryCollector::NotRead(const std::string& what, const std::string& why) {
  std::string text = what + ": " + why;
  const auto told = std::find(record_.not_read.begin(), record_.not_read.end(), text);
  return told != record_.not_read.end() ? *told : record_.not_read.emplace_back(std::move(text));
}

std::optional<double> TelemetryCollector::ThrottledSeconds() const {
  // A quota may sit on any group above ours; the one that held back most is the one that counts.
  std::optional<double> most;
  for (const std::string& folder : groups_.folders) {
    const auto text = sampler_.root().Read(folder + "/cpu.stat");
    const auto seconds = text ? ParseQuotaUse(*text).throttled_s : std::nullopt;
    if (seconds) {
      most = std::max(*seconds, most.value_or(0));
    }
  }
  return most;
}

void TelemetryCollector::Sample(const TimeMoment& moment) {
  if (!sampler_.Passed(moment)) {
    return;
  }
  WatchSample made;
  const WatchSample* sample = sampler_.Look(moment, made);
  ChooseDisk(made);
  if (!sampler_.ours().there() && !record_.own_cpu_use_not_read) {
    record_.own_cpu_use_not_read = NotRead(
        "own CPU use", "/proc/" + std::to_string(request_.own_pid) + "/stat cannot be read");
  }
  first_ns_ = first_ns_.value_or(moment.now_ns);
  last_ns_ = moment.now_ns;
  // After the counters: these take a while, and the moment would be wrong for what is read then.
  sampler_.LookAround(moment);
  if (sample != nullptr) {
    sampler_.FollowProcesses(moment, made);
    record_.samples.push_back(std::move(made.pc));
  }
}

TelemetryRecord TelemetryCollector::Finish() {
  if (first_ns_) {
    sampler_.ReadProcesses(last_ns_ + 1);
    sums_.LookAtDisks();
    record_.others = sums_.Busiest(kMostOthers, request_.ticks_per_second);
    record_.disk_others = sums_.DiskUsers(kMostDiskOthers);
    record_.watched_s = static_cast<double>(last_ns_ - *first_ns_) / 1e9;
    if (const auto kernel = sums_.KernelTicks()) {
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
