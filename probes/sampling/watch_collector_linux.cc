// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/watch_collector.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <utility>

#include "probes/cpu/usable_cpus.h"

namespace probes {
namespace {

constexpr double kEngineRoundSeconds = 10;  // in which each process is asked for graphics devices
constexpr std::size_t kMostBusiest = 8;
constexpr double kPageBytes = 4096;  // x86; a bound from below elsewhere

SamplerRequest Sampling(const WatchRequest& request) {
  SamplerRequest sampling;
  sampling.ticks_per_second = request.ticks_per_second;
  sampling.start_ns = request.start_ns;
  sampling.never = request.own_pid;
  return sampling;
}

}  // namespace

WatchCollector::WatchCollector(const base::MachineRoot& root, const WatchRequest& request)
    : request_(request),
      missing_([this](const std::string& what, const std::string& why) { NotRead(what, why); }),
      sampler_(root, Sampling(request), missing_, missing_),
      engines_(sampler_.root(), missing_),
      choice_(request.program, request.own_pid),
      files_(sampler_.root(), missing_) {
  sampler_.table().OnGone(
      [this](const KnownProcess& process) { engines_.Forget(process.latest.pid); });
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

/// What is too slow, or moves too slowly, for every sample.
void WatchCollector::LookSlowly(double seconds, WatchSample* sample) {
  const int program = sampler_.ours().pid();
  if (sample != nullptr && program != 0) {
    const auto text = ReadOnce(sampler_.root(), "/proc/" + std::to_string(program) + "/statm");
    const auto pages = text ? ParseResidentPages(*text) : std::nullopt;
    if (pages && *pages > 0) {
      sample->program_memory_bytes = static_cast<double>(*pages) * kPageBytes;
    }
    files_.LookSlowly(*sample);
  }
  engines_.Look(seconds, sampler_.ours().tree(), sampler_.devices(), sample);
}

void WatchCollector::FollowProgram(double at_s, bool round_ended) {
  if (!choice_.Look(sampler_.table(), round_ended)) {
    return;
  }
  sampler_.Follow({choice_.pid(), 0, false});
  files_.Choose(choice_.pid());
  files_.LookAround(sampler_.ours().busiest());
  files_.Look(0, sampler_.devices(), nullptr);
  WatchProgram program;
  program.at_s = std::max(0.0, at_s);
  program.name = choice_.name();
  program.pid = choice_.pid();
  program.as_asked = choice_.as_asked();
  program.usable_cpus = UsableCpusOf(sampler_.root(), choice_.pid());
  news_.programs.push_back(std::move(program));
}

void WatchCollector::RoundEnded(double at_s) {
  WatchProcesses look;
  look.from_s = round_s_;
  look.to_s = at_s;
  for (const int pid : sampler_.table().Busiest(kMostBusiest)) {
    const KnownProcess& process = sampler_.table().all().at(pid);
    look.busiest.push_back(
        {process.latest.name, pid, process.cpus, sampler_.ours().tree().contains(pid)});
  }
  if (!look.busiest.empty()) {
    news_.processes.push_back(std::move(look));
  }
  round_s_ = at_s;
  FollowProgram(at_s, true);
}

void WatchCollector::FollowEngines() {
  if (!engines_.any()) {
    return;
  }
  const auto& all = sampler_.table().all();
  const double rounds = kEngineRoundSeconds * request_.hz;
  auto left = static_cast<std::size_t>(std::ceil(static_cast<double>(all.size()) / rounds));
  for (; left > 0; --left) {
    const auto process = all.lower_bound(engines_from_);
    if (process == all.end()) {
      engines_from_ = 0;
      return;
    }
    engines_.LookInto(process->first);
    engines_from_ = process->first + 1;
  }
}

std::optional<WatchSample> WatchCollector::Sample(const TimeMoment& moment) {
  if (!sampler_.Passed(moment)) {
    return std::nullopt;
  }
  const double at_s = sampler_.At(moment.now_ns);
  WatchSample made;
  WatchSample* sample = sampler_.Look(moment, made);
  files_.Look(made.seconds, sampler_.devices(), sample);
  if (!made.program_runs) {
    made.pc.own_cpus = 0;  // no program, and so none of its work
  }
  // After the counters: these take a while, and the moment would be wrong for what is read then.
  if (sampler_.LookAround(moment) || sample == nullptr) {
    LookSlowly(at_s - slow_s_, sample);
    slow_s_ = at_s;
    FollowProgram(at_s, false);
    files_.LookAround(sampler_.ours().busiest());
  }
  if (sample == nullptr) {
    round_s_ = at_s;
  } else {
    ChooseDisk(made);
    if (sampler_.FollowProcesses(moment, made)) {
      RoundEnded(at_s);
    }
  }
  FollowEngines();
  return sample == nullptr ? std::nullopt : std::optional(std::move(made));
}

}  // namespace probes
