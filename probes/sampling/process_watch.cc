// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/process_watch.h"

#include <algorithm>
#include <string>
#include <utility>

#include "base/text.h"

namespace probes {
namespace {

constexpr std::size_t kWatchedClosely = 6;
/// kthreadd, the parent of all threads of the kernel (init/main.c, rest_init: the second that is
/// started).
constexpr int kKernelThreads = 2;

/// Whether number 2 is the kernel's: in a container it may be anybody's.
bool ShowsKernelThreads(const std::map<int, ProcessTicks>& processes) {
  const auto second = processes.find(kKernelThreads);
  return second != processes.end() && second->second.parent == 0 &&
         second->second.name == "kthreadd";
}

base::Result<ProcessTicks> ReadProcess(const base::MachineRoot& root, const std::string& pid) {
  const auto text = root.Read("/proc/" + pid + "/stat");
  if (!text) {
    return text.error();
  }
  return ParseProcessTicks(*text);
}

}  // namespace

void ProcessWatch::FindDescendants(const std::map<int, ProcessTicks>& processes) {
  descendants_.clear();
  for (const auto& [pid, process] : processes) {
    // Up to a bound: numbers read at different moments may form a loop.
    int above = process.parent;
    for (int steps = 0; steps < 64 && above > 1; ++steps) {
      if (above == own_pid_) {
        descendants_.insert(pid);
        break;
      }
      const auto parent = processes.find(above);
      above = parent == processes.end() ? 0 : parent->second.parent;
    }
  }
}

void ProcessWatch::Scan() {
  std::map<int, ProcessTicks> processes;
  for (const std::string& name : root_.List("/proc").value_or({})) {
    if (!base::ParseInt(name)) {
      continue;
    }
    if (auto process = ReadProcess(root_, name)) {
      processes.emplace(process->pid, *process);
    }
  }
  FindDescendants(processes);
  const bool kernel_shown = ShowsKernelThreads(processes);
  std::vector<std::pair<std::int64_t, Key>> recent;
  for (const auto& [pid, process] : processes) {
    if (pid == own_pid_ || pid == helper_pid_ || descendants_.contains(pid)) {
      continue;
    }
    const Key key{pid, process.start};
    const auto [other, fresh] = others_.try_emplace(key);
    other->second.kernel =
        kernel_shown && (pid == kKernelThreads || process.parent == kKernelThreads);
    if (fresh && !scanned_) {
      other->second.before = process.own;
    }
    const std::int64_t used = process.own - other->second.latest.own;
    if (used > 0 && scanned_) {
      recent.emplace_back(used, key);
    }
    other->second.latest = process;
  }
  WatchClosely(std::move(recent));
  scanned_ = true;
}

void ProcessWatch::WatchClosely(std::vector<std::pair<std::int64_t, Key>> recent) {
  std::sort(recent.rbegin(), recent.rend());
  const std::vector<Key> before = std::exchange(busiest_, {});
  for (std::size_t i = 0; i < std::min(recent.size(), kWatchedClosely); ++i) {
    const Key& key = recent[i].second;
    busiest_.push_back(key);
    if (std::find(before.begin(), before.end(), key) == before.end()) {
      others_[key].seen = others_[key].latest.own;
    }
  }
}

std::optional<std::int64_t> ProcessWatch::OwnTicks() const {
  const auto own = ReadProcess(root_, std::to_string(own_pid_));
  if (!own) {
    return std::nullopt;
  }
  std::int64_t ticks = own->own + own->children;
  for (const int pid : descendants_) {
    if (const auto process = ReadProcess(root_, std::to_string(pid))) {
      ticks += process->own + process->children;
    }
  }
  if (helper_pid_ > 0) {
    // What its children used that have ended is theirs, or was ours before.
    const auto helper = ReadProcess(root_, std::to_string(helper_pid_));
    ticks += helper ? helper->own : 0;
  }
  return ticks;
}

std::optional<ProcessShare> ProcessWatch::TopOther(double ticks_per_second) {
  std::optional<ProcessShare> top;
  for (const Key& key : busiest_) {
    const auto process = ReadProcess(root_, std::to_string(key.first));
    if (!process || process->start != key.second) {
      continue;
    }
    Other& other = others_[key];
    const std::int64_t ticks = process->own - std::exchange(other.seen, process->own);
    other.latest = *process;
    const double seconds = static_cast<double>(ticks) / ticks_per_second;
    if (ticks > 0 && (!top || seconds > top->cpu_seconds)) {
      top = ProcessShare{process->name, process->pid, seconds};
    }
  }
  return top;
}

std::vector<ProcessShare> ProcessWatch::Busiest(std::size_t most, double ticks_per_second) const {
  std::vector<ProcessShare> shares;
  for (const auto& [key, other] : others_) {
    const std::int64_t ticks = other.latest.own - other.before;
    if (ticks > 0 && !other.kernel) {
      shares.push_back(
          {other.latest.name, other.latest.pid, static_cast<double>(ticks) / ticks_per_second});
    }
  }
  std::stable_sort(shares.begin(), shares.end(), [](const ProcessShare& a, const ProcessShare& b) {
    return a.cpu_seconds > b.cpu_seconds;
  });
  shares.resize(std::min(shares.size(), most));
  return shares;
}

std::optional<std::int64_t> ProcessWatch::KernelTicks() const {
  std::optional<std::int64_t> ticks;
  for (const auto& [key, other] : others_) {
    if (other.kernel) {
      ticks = ticks.value_or(0) + std::max<std::int64_t>(0, other.latest.own - other.before);
    }
  }
  return ticks;
}

void ProcessWatch::LookAtDisks() {
  for (auto& [key, other] : others_) {
    if (other.kernel) {
      continue;
    }
    const auto text = root_.Read("/proc/" + std::to_string(key.first) + "/io");
    const auto bytes = text ? ParseDiskBytes(*text) : base::Result<std::int64_t>(text.error());
    if (!bytes) {
      continue;  // another user's, or it has ended
    }
    other.disk_latest = *bytes;
    if (!disks_seen_) {
      other.disk_before = *bytes;
    }
  }
  disks_seen_ = true;
}

std::optional<std::vector<ProcessBytes>> ProcessWatch::DiskUsers(std::size_t most) const {
  std::vector<ProcessBytes> users;
  bool read = false;
  for (const auto& [key, other] : others_) {
    if (!other.disk_latest) {
      continue;
    }
    read = true;
    const std::int64_t bytes = *other.disk_latest - other.disk_before.value_or(0);
    if (bytes > 0) {
      users.push_back({other.latest.name, other.latest.pid, static_cast<double>(bytes)});
    }
  }
  if (!read) {
    return std::nullopt;
  }
  std::stable_sort(users.begin(), users.end(),
                   [](const ProcessBytes& a, const ProcessBytes& b) { return a.bytes > b.bytes; });
  users.resize(std::min(users.size(), most));
  return users;
}

}  // namespace probes
