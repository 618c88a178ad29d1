// SPDX-License-Identifier: Apache-2.0

#include "probes/procfs/process_table.h"

#include <algorithm>
#include <utility>

#include "base/text.h"
#include "probes/procfs/watch_texts.h"

namespace probes {

void ProcessTable::List(std::int64_t now_ns, std::size_t most_fresh) {
  std::set<int> there;
  for (const std::string& name : root_.List("/proc").value_or({})) {
    if (const auto pid = base::ParseInt(name)) {
      there.insert(static_cast<int>(*pid));
    }
  }
  for (auto known = processes_.begin(); known != processes_.end();) {
    if (there.contains(known->first)) {
      ++known;
      continue;
    }
    if (gone_) {
      gone_(known->first);
    }
    known = processes_.erase(known);
  }
  unread_.clear();
  std::size_t read = 0;
  for (const int pid : there) {
    if (processes_.contains(pid)) {
      continue;
    }
    if (read++ < most_fresh) {
      Read(pid, now_ns);
    } else {
      unread_.insert(pid);
    }
  }
}

void ProcessTable::Read(int pid, std::int64_t now_ns) {
  const auto text = ReadOnce(root_, "/proc/" + std::to_string(pid) + "/stat");
  const auto process = text ? ParseProcessTicks(*text) : base::Result<ProcessTicks>(text.error());
  if (!process) {
    return;  // the next list shows whether it is gone
  }
  KnownProcess& known = processes_[pid];
  const bool same = known.read_ns > 0 && known.latest.start == process->start;
  const double seconds = static_cast<double>(now_ns - known.read_ns) / 1e9;
  known.cpus =
      same && seconds > 0
          ? static_cast<double>(std::max<std::int64_t>(0, process->own - known.latest.own)) /
                ticks_per_second_ / seconds
          : 0;
  known.latest = *process;
  known.read_ns = now_ns;
  known.state = ParseProcessState(*text);
}

bool ProcessTable::ReadSome(std::int64_t now_ns, std::size_t count) {
  for (; count > 0 && !unread_.empty(); --count) {
    const int pid = *unread_.begin();
    unread_.erase(unread_.begin());
    Read(pid, now_ns);
  }
  for (; count > 0; --count) {
    const auto process = processes_.lower_bound(next_);
    if (process == processes_.end()) {
      next_ = 0;
      return true;
    }
    next_ = process->first + 1;
    Read(process->first, now_ns);
  }
  return false;
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

void CloseProcesses::Choose(const std::vector<int>& pids) {
  std::map<int, Close> chosen;
  for (const int pid : pids) {
    if (auto known = close_.extract(pid)) {
      chosen.insert(std::move(known));
    } else {
      chosen.emplace(
          pid, Close{KeptFile(root_, "/proc/" + std::to_string(pid) + "/stat"), std::nullopt});
    }
  }
  close_ = std::move(chosen);
}

std::optional<CloseProcesses::Use> CloseProcesses::Busiest() {
  std::optional<Use> busiest;
  for (auto& [pid, close] : close_) {
    const auto text = close.stat.Read();
    const auto now = text ? ParseProcessTicks(*text) : base::Result<ProcessTicks>(text.error());
    if (!now) {
      close.last.reset();
      continue;
    }
    const std::int64_t used =
        close.last && close.last->start == now->start ? now->own - close.last->own : 0;
    if (used > 0 && (!busiest || used > busiest->ticks)) {
      busiest = Use{pid, now->name, used};
    }
    close.last = *now;
  }
  return busiest;
}

}  // namespace probes
