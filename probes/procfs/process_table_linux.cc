// SPDX-License-Identifier: Apache-2.0

#include "probes/procfs/process_table.h"

#include <algorithm>
#include <utility>

#include "probes/procfs/system_texts.h"

namespace probes {
namespace {

/// kthreadd, the parent of all threads of the kernel (init/main.c, rest_init: the second that is
/// started).
constexpr int kKernelThreads = 2;

constexpr std::int64_t kListAgainNs = 4'900'000'000;
constexpr int kIdleReads = 2;   // after which a process is read less often,
constexpr int kIdleRounds = 4;  // once in so many rounds

std::string StatOf(int pid) {
  return "/proc/" + std::to_string(pid) + "/stat";
}

template <typename Text>
std::optional<ProcessTicks> TicksOf(const base::Result<Text>& text) {
  auto ticks = text ? ParseProcessTicks(*text) : base::Result<ProcessTicks>(text.error());
  return ticks ? std::optional(*std::move(ticks)) : std::nullopt;
}

}  // namespace

ProcessTable::ProcessTable(const base::MachineRoot& root, double ticks_per_second)
    : root_(root), ticks_per_second_(ticks_per_second), loadavg_(root, "/proc/loadavg") {}

/// A list takes long, and mostly it is the same.
bool ProcessTable::AnybodyCame(std::int64_t now_ns) {
  const auto text = loadavg_.Read();
  const auto newest = text ? ParseNewestNumber(*text) : std::nullopt;
  const bool same = newest && newest == newest_ && now_ns - listed_ns_ < kListAgainNs;
  newest_ = newest;
  return !same;
}

void ProcessTable::DropGone(const std::vector<int>& there) {
  for (auto known = processes_.begin(); known != processes_.end();) {
    if (std::binary_search(there.begin(), there.end(), known->first)) {
      ++known;
      continue;
    }
    if (gone_) {
      gone_(known->second);
    }
    known = processes_.erase(known);
  }
}

void ProcessTable::List(std::int64_t now_ns, std::size_t most_fresh) {
  if (!AnybodyCame(now_ns)) {
    return;
  }
  listed_ns_ = now_ns;
  const std::vector<int> there = NumbersIn(root_, "/proc");
  DropGone(there);
  unread_.clear();
  std::size_t read = 0;
  for (const int pid : there) {
    if (processes_.contains(pid)) {
      continue;
    }
    if (!begun_ || read++ < most_fresh) {
      Read(pid, now_ns);
    } else {
      unread_.insert(pid);
    }
  }
  begun_ = true;
}

void ProcessTable::Read(int pid, std::int64_t now_ns) {
  auto process = TicksOf(ReadOnce(root_, StatOf(pid)));
  if (!process) {
    if (const auto known = processes_.find(pid); known != processes_.end()) {
      known->second.cpus = 0;  // the next list shows whether it is gone
    }
    return;
  }
  auto [found, fresh] = processes_.try_emplace(pid);
  KnownProcess& known = found->second;
  if (!fresh && known.latest.start != process->start) {
    if (gone_) {
      gone_(known);
    }
    known = {};  // another one that was given its number
    fresh = true;
  }
  if (fresh) {
    known.before = begun_ ? 0 : process->own;
  } else {
    const std::int64_t used = std::max<std::int64_t>(0, process->own - known.latest.own);
    const double seconds = static_cast<double>(now_ns - known.read_ns) / 1e9;
    known.cpus = seconds > 0 ? static_cast<double>(used) / ticks_per_second_ / seconds : 0;
    known.idle_reads = used > 0 ? 0 : known.idle_reads + 1;
  }
  known.latest = *std::move(process);
  known.read_ns = now_ns;
}

bool ProcessTable::ReadSome(std::int64_t now_ns, std::size_t count) {
  for (; count > 0 && !unread_.empty(); --count) {
    const int pid = *unread_.begin();
    unread_.erase(unread_.begin());
    Read(pid, now_ns);
  }
  auto process = processes_.lower_bound(next_);
  for (; count > 0 && process != processes_.end(); --count, ++process) {
    if (process->second.idle_reads < kIdleReads || (process->first + round_) % kIdleRounds == 0) {
      Read(process->first, now_ns);
    }
  }
  if (process != processes_.end()) {
    next_ = process->first;
    return false;
  }
  next_ = 0;
  ++round_;
  return true;
}

void ProcessTable::ReadAll(std::int64_t now_ns) {
  for (const auto& [pid, process] : processes_) {
    if (process.read_ns != now_ns) {
      Read(pid, now_ns);
    }
  }
}

std::set<int> ProcessTable::Tree(int pid) const {
  std::set<int> tree;
  if (!processes_.contains(pid)) {
    return tree;
  }
  tree.insert(pid);
  for (const auto& [candidate, process] : processes_) {
    // Up to a bound: numbers read at different moments may form a loop.
    int above = process.latest.parent;
    for (int steps = 0; steps < 64 && above > 1; ++steps) {
      if (above == pid) {
        tree.insert(candidate);
        break;
      }
      const auto parent = processes_.find(above);
      above = parent == processes_.end() ? 0 : parent->second.latest.parent;
    }
  }
  return tree;
}

std::vector<int> ProcessTable::Busiest(std::size_t most) const {
  std::vector<std::pair<double, int>> used;
  for (const auto& [pid, process] : processes_) {
    if (process.cpus > 0) {
      used.emplace_back(process.cpus, pid);
    }
  }
  std::sort(used.rbegin(), used.rend());
  std::vector<int> busiest;
  for (std::size_t i = 0; i < std::min(most, used.size()); ++i) {
    busiest.push_back(used[i].second);
  }
  return busiest;
}

bool ProcessTable::OfKernel(const ProcessTicks& process) const {
  if (process.pid != kKernelThreads && process.parent != kKernelThreads) {
    return false;
  }
  // In a container number 2 may be anybody's.
  const auto second = processes_.find(kKernelThreads);
  return second != processes_.end() && second->second.latest.parent == 0 &&
         second->second.latest.name == "kthreadd";
}

void CloseProcesses::Choose(const std::vector<int>& pids) {
  std::map<int, Close> chosen;
  for (const int pid : pids) {
    if (auto known = close_.extract(pid)) {
      chosen.insert(std::move(known));
    } else {
      Close& close = chosen.emplace(pid, Close{KeptFile(root_, StatOf(pid)), {}}).first->second;
      close.last = TicksOf(close.stat.Read());
    }
  }
  close_ = std::move(chosen);
}

std::optional<CloseProcesses::Use> CloseProcesses::Busiest() {
  Use busiest;
  for (auto& [pid, close] : close_) {
    auto now = TicksOf(close.stat.Read());
    const bool same = now && close.last && close.last->start == now->start;
    const std::int64_t used = same ? std::max<std::int64_t>(0, now->own - close.last->own) : 0;
    busiest.all_ticks += used;
    if (used > busiest.ticks) {
      busiest.pid = pid;
      busiest.name = now->name;
      busiest.ticks = used;
    }
    close.last = std::move(now);
  }
  return busiest.ticks > 0 ? std::optional(busiest) : std::nullopt;
}

}  // namespace probes
