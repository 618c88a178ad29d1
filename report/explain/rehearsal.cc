// SPDX-License-Identifier: Apache-2.0

#include "report/explain/rehearsal.h"

#include <algorithm>
#include <cstddef>
#include <map>
#include <string>
#include <utility>

#include "report/explain/accounts.h"
#include "report/explain/explain.h"

namespace report {
namespace {

/// Of a second's frames, more than this late ones make it no clean second: a
/// backlog is a loss in the making.
constexpr double kLateShare = 0.1;
/// Seconds next to a loss are part of it.
constexpr std::size_t kGuardSeconds = 1;

CpuCount CpusOf(const Evidence& evidence) {
  const probes::CpuInventory& cpu = evidence.inventory.cpu;
  CpuCount count;
  const auto& samples = evidence.telemetry->samples;
  if (!samples.empty() && !samples.front().core_busy_percent.empty()) {
    count.all = static_cast<double>(samples.front().core_busy_percent.size());
  } else if (cpu.threads.known() && *cpu.threads > 0) {
    count.all = *cpu.threads;
  }
  count.usable = cpu.usable_cpus.value_or(count.all);
  count.usable = count.usable > 0 ? std::min(count.usable, count.all) : count.all;
  return count;
}

/// Marks the seconds of one account that are not clean.
void MarkTrouble(const std::vector<bench::LedgerWindow>& windows, std::vector<bool>& trouble) {
  for (std::size_t second = 0; second < windows.size() && second < trouble.size(); ++second) {
    const bench::LedgerWindow& window = windows[second];
    const bool late =
        static_cast<double>(window.late) > kLateShare * static_cast<double>(window.due);
    if (window.dropped > 0) {
      const std::size_t first = second - std::min(second, kGuardSeconds);
      for (std::size_t near = first; near <= second + kGuardSeconds && near < trouble.size();
           ++near) {
        trouble[near] = true;
      }
    } else if (late) {
      trouble[second] = true;
    }
  }
}

std::vector<CleanStretch> CleanStretches(const bench::Rehearsal& rehearsal) {
  constexpr double kLongest = 1e7;  // no rehearsal takes months, whatever a file says
  std::vector<bool> trouble(static_cast<std::size_t>(std::clamp(rehearsal.seconds, 0.0, kLongest)),
                            false);
  for (const bench::OutputLedger& output : rehearsal.outputs) {
    MarkTrouble(output.seconds, trouble);
  }
  for (const bench::FeedLedger& feed : rehearsal.feeds) {
    MarkTrouble(feed.seconds, trouble);
  }
  std::vector<CleanStretch> clean;
  for (std::size_t second = 0; second < trouble.size(); ++second) {
    const auto from_s = static_cast<double>(second);
    if (trouble[second] || from_s < rehearsal.warm_up_seconds) {
      continue;
    }
    if (!clean.empty() && clean.back().to_s == from_s) {
      clean.back().to_s = from_s + 1;
    } else {
      clean.push_back({from_s, from_s + 1});
    }
  }
  return clean;
}

double FramesPerSecond(const bench::Rehearsal& rehearsal, const std::string& name) {
  for (const bench::OutputLedger& output : rehearsal.outputs) {
    if (output.name == name && rehearsal.seconds > 0) {
      return static_cast<double>(output.due) / rehearsal.seconds;
    }
  }
  return 0;
}

/// Losses of one output at one stage that follow each other within half a
/// second share a moment, up to a length in which the PC's state may change.
constexpr double kJoinSeconds = 0.5;
constexpr double kLongestMoment = 4;

struct Moments {
  std::vector<MissingMoment> list;
  std::vector<std::size_t> of_drop;  // index in the list
};

/// What is lost before the warm-up ends is in no account.
void Count(const bench::DropRun& drop, double warm_up_s, MissingMoment& moment) {
  if (drop.at_s >= warm_up_s) {
    moment.frames += drop.frames;
    ++moment.runs;
    moment.last_s = drop.at_s;
  }
}

Moments JoinDrops(const bench::Rehearsal& rehearsal) {
  Moments moments;
  std::map<std::pair<std::string, bench::Stage>, std::size_t> open;
  for (const bench::DropRun& drop : rehearsal.drops) {
    const double rate = FramesPerSecond(rehearsal, drop.output);
    const double end_s = drop.at_s + (rate > 0 ? static_cast<double>(drop.frames) / rate : 0);
    const auto [found, fresh] = open.try_emplace({drop.output, drop.stage}, 0);
    if (!fresh) {
      MissingMoment& moment = moments.list[found->second];
      if (drop.at_s <= moment.to_s + kJoinSeconds && end_s - moment.from_s <= kLongestMoment) {
        moment.to_s = std::max(moment.to_s, end_s);
        moments.of_drop.push_back(found->second);
        Count(drop, rehearsal.warm_up_seconds, moment);
        continue;
      }
    }
    found->second = moments.list.size();
    moments.of_drop.push_back(moments.list.size());
    moments.list.push_back({drop.at_s, end_s, drop.output, drop.stage});
    Count(drop, rehearsal.warm_up_seconds, moments.list.back());
  }
  return moments;
}

}  // namespace

std::vector<DropCause> ExplainDrops(Evidence& evidence) {
  auto& rehearsal = evidence.results.rehearsal;
  if (!rehearsal || !evidence.telemetry) {
    return {};
  }
  Moments moments = JoinDrops(*rehearsal);
  ExplainInput input;
  input.moments = moments.list;
  input.clean = CleanStretches(*rehearsal);
  input.cpus = CpusOf(evidence);
  input.signs = SignsOf(*evidence.telemetry, input.cpus);
  AddStageSigns(*rehearsal, input.signs);
  const std::vector<Explanation> explanations = Explain(input);
  for (std::size_t i = 0; i < rehearsal->drops.size(); ++i) {
    rehearsal->drops[i].cause = explanations[moments.of_drop[i]].cause;
  }
  return AccountCauses(moments.list, explanations, *evidence.telemetry);
}

}  // namespace report
