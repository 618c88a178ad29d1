// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/our_processes.h"

#include <algorithm>
#include <cstddef>
#include <utility>
#include <vector>

namespace probes {
namespace {

constexpr std::size_t kMostMembers = 24;     // read at every sample
constexpr std::size_t kMostWithThreads = 3;  // processes whose threads are looked at
constexpr int kGroupsEveryLooks = 2;         // of those around

}  // namespace

OurProcesses::OurProcesses(const base::MachineRoot& root, double ticks_per_second, int never,
                           const std::string& writer_prefix, Missing missing)
    : root_(root),
      ticks_per_second_(ticks_per_second),
      never_(never),
      missing_(std::move(missing)),
      threads_(root, writer_prefix, missing_) {}

void OurProcesses::Choose(const Ours& ours) {
  ours_ = ours;
  noted_ = false;
  ticks_noted_ = false;
  looks_around_ = 0;
  last_ticks_ = 0;
  tree_.clear();
  busiest_.clear();
  members_.clear();
  threads_.Follow({});
  groups_.reset();
  FollowGroups();
}

/// They may be put into other groups while they run.
void OurProcesses::FollowGroups() {
  const std::string process = ours_.pid != 0 && !ours_.self ? std::to_string(ours_.pid) : "self";
  const auto text = ReadOnce(root_, "/proc/" + process + "/cgroup");
  if (groups_ && (!text || *text == groups_text_)) {
    return;
  }
  groups_text_ = text ? *text : "";
  groups_ = MakeGroupGauge(root_, process, ours_.pid != 0, missing_);
  groups_->Look(0, nullptr);
}

void OurProcesses::AddMember(int pid, const ProcessTable& table) {
  if (members_.contains(pid)) {
    return;
  }
  members_.emplace(pid, KeptFile(root_, "/proc/" + std::to_string(pid) + "/stat"));
  const auto known = table.all().find(pid);
  if (known != table.all().end()) {
    // What it used before it was ours is not put to our account.
    const ProcessTicks& latest = known->second.latest;
    last_ticks_ += latest.own + (pid == ours_.helper ? 0 : latest.children);
  }
}

void OurProcesses::LookAround(const ProcessTable& table) {
  if (ours_.pid == 0) {
    return;
  }
  tree_ = table.Tree(ours_.pid);
  if (ours_.self) {
    tree_.insert(ours_.pid);
  }
  tree_.erase(never_);
  std::erase_if(members_, [this](const auto& member) { return !Are(member.first); });
  std::vector<std::pair<double, int>> by_use;
  for (const int pid : tree_) {
    by_use.emplace_back(pid == ours_.pid ? 1e9 : table.all().at(pid).cpus, pid);
  }
  std::sort(by_use.rbegin(), by_use.rend());
  busiest_.clear();
  for (std::size_t i = 0; i < std::min(by_use.size(), kMostMembers); ++i) {
    AddMember(by_use[i].second, table);
    if (i < kMostWithThreads) {
      busiest_.insert(by_use[i].second);
    }
  }
  if (ours_.helper != 0) {
    AddMember(ours_.helper, table);
  }
  threads_.Follow(busiest_);
  threads_.LookAround();
  if (looks_around_++ % kGroupsEveryLooks == 0) {
    FollowGroups();
  }
}

void OurProcesses::LookAtTicks(double seconds, WatchSample* sample) {
  std::int64_t ticks = 0;
  std::int64_t faults = 0;
  int running = 0;
  int stopped = 0;
  thread_counts_.clear();
  for (auto& [pid, stat] : members_) {
    const auto text = stat.Read();
    const auto process = text ? ParseProcessTicks(*text) : base::Result<ProcessTicks>(text.error());
    if (!process) {
      continue;
    }
    ticks += process->own;
    if (pid == ours_.helper) {
      continue;  // what its children used that have ended is theirs, or was ours before
    }
    ++running;
    stopped += process->state == 'T' || process->state == 't' ? 1 : 0;
    ticks += process->children;
    faults += process->major_faults;
    thread_counts_.emplace(pid, process->threads);
  }
  there_ = running > 0;
  if (sample != nullptr && there_) {
    sample->program_runs = true;
    sample->stopped_percent = 100.0 * stopped / running;
  }
  if (sample != nullptr && there_ && ticks_noted_) {
    sample->pc.own_cpus = Added(ticks, last_ticks_) / (seconds * ticks_per_second_);
    sample->pc.major_faults_per_second = Added(faults, last_faults_) / seconds;
  }
  // Where none could be read, what is added next belongs to a longer time.
  ticks_noted_ = there_;
  last_ticks_ = ticks;
  last_faults_ = faults;
}

void OurProcesses::Look(double seconds, WatchSample* sample) {
  WatchSample* told = noted_ ? sample : nullptr;
  groups_->Look(seconds, told);
  LookAtTicks(seconds, told);
  threads_.Look(seconds, thread_counts_, told);
  noted_ = true;
}

}  // namespace probes
