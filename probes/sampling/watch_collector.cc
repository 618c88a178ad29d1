// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/watch_collector.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <utility>

#include "base/text.h"
#include "probes/cpu/usable_cpus.h"
#include "probes/procfs/watch_texts.h"
#include "probes/watch_log/fields.h"

namespace probes {
namespace {

constexpr std::int64_t kSlowEveryNs = 950'000'000;
constexpr std::int64_t kScanAgainNs = 2'000'000'000;
constexpr double kRoundSeconds = 5;         // in which each process is read once
constexpr double kEngineRoundSeconds = 10;  // in which each is asked for graphics devices
/// When others suddenly take this much, they are looked for at once.
constexpr double kOthersJumpCpus = 0.3;
constexpr std::size_t kFreshAtOnce = 40;
constexpr std::size_t kMostClose = 5;
constexpr std::size_t kMostBusiest = 8;
constexpr double kPageBytes = 4096;  // x86; a bound from below elsewhere

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

/// How many of `all` to look at in a sample, for a round of `seconds`.
std::size_t Slice(std::size_t all, double seconds, double hz) {
  return static_cast<std::size_t>(std::ceil(static_cast<double>(all) / (seconds * hz)));
}

}  // namespace

WatchCollector::WatchCollector(const base::MachineRoot& root, const WatchRequest& request)
    : root_(root),
      request_(request),
      missing_([this](const std::string& what, const std::string& why) { NotRead(what, why); }),
      cpu_(MakeCpuGauge(root_, request.ticks_per_second, missing_, missing_)),
      waiting_(MakeDiskGauge(root_, "", request.own_pid, missing_)),
      pressure_(MakePressureGauge(root_, missing_)),
      disks_(root_, missing_),
      links_(root_, missing_),
      engines_(root_, missing_),
      table_(root_, request.ticks_per_second),
      close_(root_),
      choice_(request.program, request.own_pid),
      program_(root_, request.ticks_per_second, request.own_pid, missing_),
      stat_(root_, "/proc/stat"),
      frequency_files_(FindFrequencyFiles(root_)) {
  table_.OnGone([this](int pid) { engines_.Forget(pid); });
  program_.Choose(0);
}

void WatchCollector::NotRead(const std::string& what, const std::string& why) {
  const std::string text = what + ": " + why;
  if (not_read_.insert(text).second) {
    news_.not_read.push_back(text);
  }
}

WatchNews WatchCollector::TakeNews() {
  return std::exchange(news_, {});
}

double WatchCollector::At(std::int64_t now_ns) const {
  return static_cast<double>(now_ns - request_.start_ns) / 1e9;
}

void WatchCollector::LookAtClock(const WatchMoment& moment, WatchSample& sample) const {
  constexpr double kLeastSleepMs = 1;
  const std::int64_t ahead = (moment.wall_ns - moment.now_ns) - (last_->wall_ns - last_->now_ns);
  const std::int64_t slept = (moment.boot_ns - moment.now_ns) - (last_->boot_ns - last_->now_ns);
  sample.pc.wall_clock_step_ms = static_cast<double>(ahead) / 1e6;
  const double slept_ms = static_cast<double>(slept) / 1e6;
  if (slept_ms > kLeastSleepMs) {
    sample.slept_ms = slept_ms;
  }
}

void WatchCollector::LookAtOthers(double seconds, WatchSample* sample) {
  const auto busiest = close_.Busiest();
  if (sample != nullptr && busiest) {
    sample->pc.top_other = busiest->name;
    sample->pc.top_other_pid = busiest->pid;
    sample->pc.top_other_cpus =
        static_cast<double>(busiest->ticks) / request_.ticks_per_second / seconds;
  }
}

void WatchCollector::LookAtInterrupts(double seconds, WatchSample* sample) {
  const auto text = stat_.Read();
  std::vector<std::int64_t> now = text ? ParseInterruptTicks(*text) : std::vector<std::int64_t>();
  if (sample != nullptr && !now.empty() && now.size() == interrupts_.size() && seconds > 0) {
    double all = 0;
    double most = 0;
    for (std::size_t i = 0; i < now.size(); ++i) {
      const double cpus = Added(now[i], interrupts_[i]) / request_.ticks_per_second / seconds;
      all += cpus;
      most = std::max(most, cpus);
    }
    sample->softirq_cpus = all;
    sample->fullest_irq_percent = std::min(100.0, 100 * most);
  }
  interrupts_ = std::move(now);
}

void WatchCollector::LookAtProgramMemory(WatchSample& sample) {
  for (const std::string& file : frequency_files_) {
    const auto khz = root_.ReadInt(file);
    if (khz && *khz > 0) {
      const double mhz = static_cast<double>(*khz) / 1000;
      sample.lowest_mhz = std::min(mhz, sample.lowest_mhz.value_or(mhz));
    }
  }
  if (program_.pid() == 0) {
    return;
  }
  // Sizes in pages: all, resident ...
  const auto text = root_.Read("/proc/" + std::to_string(program_.pid()) + "/statm");
  const auto words = text ? base::SplitWords(*text) : std::vector<std::string_view>();
  const auto pages = words.size() > 1 ? base::ParseInt(words[1]) : std::nullopt;
  if (pages && *pages > 0) {
    sample.program_memory_bytes = static_cast<double>(*pages) * kPageBytes;
  }
}

/// What is too slow, or moves too slowly, for every sample.
void WatchCollector::LookSlowly(const WatchMoment& moment, WatchSample* sample) {
  const double seconds = static_cast<double>(moment.now_ns - slow_ns_) / 1e9;
  if (sample != nullptr && moment.now_ns - slow_ns_ < kSlowEveryNs) {
    return;
  }
  slow_ns_ = moment.now_ns;
  LookAtInterrupts(seconds, sample);
  if (sample != nullptr) {
    LookAtProgramMemory(*sample);
    program_.LookSlowly(*sample);
  }
  engines_.Look(sample == nullptr ? 0 : seconds, program_.tree(), devices_, sample);
  table_.List(moment.now_ns, sample == nullptr ? SIZE_MAX : kFreshAtOnce);
  FollowProgram(At(moment.now_ns), false);
  program_.LookAround(table_);
}

void WatchCollector::FollowProgram(double at_s, bool round_ended) {
  if (!choice_.Look(table_, round_ended)) {
    return;
  }
  program_.Choose(choice_.pid());
  program_.LookAround(table_);
  program_.Look(0, devices_, nullptr);
  links_.FollowProgram(choice_.pid());
  WatchProgram program;
  program.at_s = std::max(0.0, at_s);
  program.name = choice_.name();
  program.pid = choice_.pid();
  program.as_asked = choice_.as_asked();
  program.usable_cpus = UsableCpusOf(root_, choice_.pid());
  news_.programs.push_back(std::move(program));
  ChooseClose();
}

void WatchCollector::ChooseClose() {
  std::vector<int> chosen;
  for (const int pid : table_.Busiest(kMostClose + program_.tree().size() + 1)) {
    if (!program_.tree().contains(pid) && pid != request_.own_pid && chosen.size() < kMostClose) {
      chosen.push_back(pid);
    }
  }
  close_.Choose(chosen);
}

void WatchCollector::RoundEnded(double at_s) {
  WatchProcesses look;
  look.from_s = At(round_ns_);
  look.to_s = at_s;
  for (const int pid : table_.Busiest(kMostBusiest)) {
    const KnownProcess& process = table_.all().at(pid);
    look.busiest.push_back({process.latest.name, pid, process.cpus, program_.tree().contains(pid)});
  }
  if (!look.busiest.empty()) {
    news_.processes.push_back(std::move(look));
  }
  FollowProgram(at_s, true);
  ChooseClose();
}

void WatchCollector::FollowProcesses(const WatchMoment& moment, const WatchSample* sample) {
  const std::size_t all = std::max<std::size_t>(1, table_.all().size());
  const bool jump =
      sample != nullptr &&
      sample->pc.OtherCpus().value_or(0) - sample->pc.top_other_cpus > kOthersJumpCpus;
  if (jump && moment.now_ns - scan_ns_ >= kScanAgainNs) {
    scan_ns_ = moment.now_ns;
    while (!table_.ReadSome(moment.now_ns, all)) {
    }
    ChooseClose();
  } else if (table_.ReadSome(moment.now_ns, Slice(all, kRoundSeconds, request_.hz))) {
    RoundEnded(At(moment.now_ns));
    round_ns_ = moment.now_ns;
  }
}

void WatchCollector::FollowEngines() {
  if (!engines_.any()) {
    return;
  }
  for (std::size_t left = Slice(table_.all().size(), kEngineRoundSeconds, request_.hz); left > 0;
       --left) {
    const auto process = table_.all().lower_bound(engines_from_);
    if (process == table_.all().end()) {
      engines_from_ = 0;
      return;
    }
    engines_.LookInto(process->first);
    engines_from_ = process->first + 1;
  }
}

void WatchCollector::ChooseDisk(WatchSample& sample) const {
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

std::optional<WatchSample> WatchCollector::Sample(const WatchMoment& moment) {
  const double seconds = last_ ? static_cast<double>(moment.now_ns - last_->now_ns) / 1e9 : 0;
  if (last_ && seconds <= 0) {
    return std::nullopt;
  }
  WatchSample made;
  WatchSample* sample = last_ ? &made : nullptr;
  TelemetrySample* pc = last_ ? &made.pc : nullptr;
  made.pc.at_s = At(moment.now_ns);
  made.seconds = seconds;
  made.wall_ns = moment.wall_ns;
  if (last_) {
    LookAtClock(moment, made);
  }
  // What moves fastest is looked at first, close to the moment that the caller told.
  program_.Look(seconds, devices_, sample);
  cpu_->Look(seconds, pc);
  LookAtOthers(seconds, sample);
  disks_.Look(seconds, devices_, sample);
  waiting_->Look(seconds, pc);
  pressure_->Look(seconds, pc);
  links_.Look(seconds, devices_, sample);
  // After the counters: these take a while, and the moment would be wrong for what is read then.
  LookSlowly(moment, sample);
  if (last_) {
    ChooseDisk(made);
    FollowProcesses(moment, sample);
  } else {
    slow_ns_ = moment.now_ns;
    round_ns_ = moment.now_ns;
    scan_ns_ = moment.now_ns;
  }
  FollowEngines();
  last_ = moment;
  return sample == nullptr ? std::nullopt : std::optional(std::move(made));
}

}  // namespace probes
