// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/sampler.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "probes/watch_log/fields.h"

namespace probes {
namespace {

constexpr std::int64_t kSlowEveryNs = 950'000'000;
/// When others suddenly take so much more than the known ones, they are looked for at once.
constexpr double kOthersJumpCpus = 0.3;
constexpr int kLongestWait = 8;      // times scan_again_ns, where looking did not find them
constexpr double kQuietSeconds = 2;  // after which that is forgotten
constexpr double kRoundSeconds = 5;  // in which each process is turned to once
constexpr std::size_t kFreshAtOnce = 40;
constexpr std::size_t kMostClose = 5;
constexpr double kLeastCpus = 0.01;  // of those that are looked at closely

}  // namespace

Sampler::Sampler(const base::MachineRoot& root, const SamplerRequest& request,
                 const Missing& missing, const Missing& use_missing)
    : root_(root),
      request_(request),
      ours_(root_, request.ticks_per_second, request.never, request.writer_prefix, missing),
      table_(root_, request.ticks_per_second),
      close_(root_),
      slow_ns_(request.start_ns),
      scan_ns_(request.start_ns),
      scan_wait_ns_(request.scan_again_ns) {
  // What moves fastest is looked at first, close to the moment that the caller told.
  Add(MakeCpuGauge(root_, request.ticks_per_second, missing, use_missing));
  if (request.disks == Disks::kAll || !request.disk.empty()) {
    Add(MakeDiskGauge(root_, devices_, request.disk, missing));
  }
  Add(MakeMemoryGauge(root_, missing));
  Add(MakePressureGauge(root_, missing));
  Add(MakeNetworkGauge(root_, devices_, missing));
  table_.List(request.start_ns, kFreshAtOnce);
  Follow(request.ours);
}

void Sampler::Follow(const Ours& ours) {
  ours_.Choose(ours);
  ours_.LookAround(table_);
  ours_.Look(0, nullptr);
  for (const GaugePtr& gauge : gauges_) {
    gauge->Follow(ours.self ? 0 : ours.pid);
  }
  ChooseClose();
}

double Sampler::At(std::int64_t now_ns) const {
  return static_cast<double>(now_ns - request_.start_ns) / 1e9;
}

WatchSample* Sampler::Look(const TimeMoment& moment, WatchSample& sample) {
  seconds_ = last_ ? static_cast<double>(moment.now_ns - last_->now_ns) / 1e9 : 0;
  WatchSample* told = last_ ? &sample : nullptr;
  sample.pc.at_s = At(moment.now_ns);
  sample.seconds = seconds_;
  sample.wall_ns = moment.wall_ns;
  if (told != nullptr) {
    LookAtClock(moment, sample);
  }
  ours_.Look(seconds_, told);
  LookAtOthers(seconds_, told);
  for (const GaugePtr& gauge : gauges_) {
    gauge->Look(seconds_, told);
  }
  last_ = moment;
  return told;
}

void Sampler::LookAtClock(const TimeMoment& moment, WatchSample& sample) const {
  constexpr double kLeastSleepMs = 1;
  const std::int64_t ahead = (moment.wall_ns - moment.now_ns) - (last_->wall_ns - last_->now_ns);
  const std::int64_t slept = (moment.boot_ns - moment.now_ns) - (last_->boot_ns - last_->now_ns);
  sample.pc.wall_clock_step_ms = static_cast<double>(ahead) / 1e6;
  const double slept_ms = static_cast<double>(slept) / 1e6;
  if (slept_ms > kLeastSleepMs) {
    sample.slept_ms = slept_ms;
  }
}

void Sampler::LookAtOthers(double seconds, WatchSample* sample) {
  const auto busiest = close_.Busiest();
  close_cpus_ = 0;
  if (sample != nullptr && busiest) {
    const double ticks = request_.ticks_per_second * seconds;
    close_cpus_ = static_cast<double>(busiest->all_ticks) / ticks;
    sample->pc.top_other = busiest->name;
    sample->pc.top_other_pid = busiest->pid;
    sample->pc.top_other_cpus = static_cast<double>(busiest->ticks) / ticks;
  }
}

bool Sampler::LookAround(const TimeMoment& moment) {
  if (moment.now_ns - slow_ns_ < kSlowEveryNs) {
    return false;
  }
  slow_ns_ = moment.now_ns;
  if (ours_.pid() != 0 && !ours_.there()) {
    table_.ListWhole();
  }
  table_.List(moment.now_ns, kFreshAtOnce);
  ours_.LookAround(table_);
  for (const GaugePtr& gauge : gauges_) {
    gauge->LookAround();
  }
  return true;
}

void Sampler::ChooseClose() {
  std::vector<int> chosen;
  for (const int pid : table_.Busiest(kMostClose + ours_.tree().size() + 2)) {
    if (!ours_.Are(pid) && pid != request_.never && chosen.size() < kMostClose &&
        table_.all().at(pid).cpus >= kLeastCpus) {
      chosen.push_back(pid);
    }
  }
  close_.Choose(chosen);
}

/// Where looking does not help, as with many that end soon, it is done less often.
bool Sampler::TimeToScan(const TimeMoment& moment, const WatchSample& sample) {
  const bool jumped = sample.pc.OtherCpus().value_or(0) - close_cpus_ > kOthersJumpCpus;
  quiet_s_ = jumped ? 0 : quiet_s_ + seconds_;
  if (quiet_s_ >= kQuietSeconds) {
    scan_wait_ns_ = request_.scan_again_ns;
  }
  if (!jumped || moment.now_ns - scan_ns_ < scan_wait_ns_) {
    return false;
  }
  scan_ns_ = moment.now_ns;
  scan_wait_ns_ = std::min(2 * scan_wait_ns_, kLongestWait * request_.scan_again_ns);
  return true;
}

bool Sampler::FollowProcesses(const TimeMoment& moment, const WatchSample& sample) {
  if (TimeToScan(moment, sample)) {
    table_.ReadAll(moment.now_ns);
    ChooseClose();
    return false;
  }
  const double share = seconds_ / kRoundSeconds;
  const auto count =
      static_cast<std::size_t>(std::ceil(share * static_cast<double>(table_.all().size())));
  if (!table_.ReadSome(moment.now_ns, count)) {
    return false;
  }
  ChooseClose();
  return true;
}

void Sampler::ReadProcesses(std::int64_t now_ns) {
  table_.ListWhole();
  table_.List(now_ns, SIZE_MAX);
  ours_.LookAround(table_);
  table_.ReadAll(now_ns);
}

void ChooseDisk(WatchSample& sample) {
  std::optional<std::size_t> disk = sample.recording_disk;
  double most = 0;
  for (const WatchDiskSample& each : sample.disks) {
    if (!sample.recording_disk && each.write_bytes_per_second > most) {
      most = each.write_bytes_per_second;
      disk = each.disk;
    }
  }
  if (!disk && !sample.disks.empty()) {
    disk = sample.disks.front().disk;
  }
  if (disk) {
    PutWatchDisk(sample, *disk, sample.pc);
  }
}

}  // namespace probes
