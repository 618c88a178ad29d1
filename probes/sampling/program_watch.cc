// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/program_watch.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <optional>
#include <utility>

#include "base/text.h"
#include "probes/procfs/proc_texts.h"
#include "probes/procfs/watch_texts.h"

namespace probes {
namespace {

constexpr std::size_t kMostMembers = 24;     // read at every sample
constexpr std::size_t kMostWithThreads = 3;  // processes whose threads are looked at
constexpr int kFilesEveryLooks = 2;          // of those around
constexpr int kListsKept = 5;                // looks for files for which the list of sockets holds
constexpr std::array<const char*, 2> kSocketLists{"/net/tcp", "/net/tcp6"};

}  // namespace

ProgramWatch::ProgramWatch(const base::MachineRoot& root, double ticks_per_second, int own_pid,
                           Missing missing)
    : root_(root),
      ticks_per_second_(ticks_per_second),
      own_pid_(own_pid),
      missing_(std::move(missing)),
      files_(root),
      writers_(root) {}

void ProgramWatch::Choose(int pid) {
  pid_ = pid;
  noted_ = false;
  looks_around_ = 0;
  last_ticks_ = 0;
  tree_.clear();
  members_.clear();
  threads_.clear();
  gauges_.clear();
  space_.Watch("");
  files_.Find({});
  queues_.reset();
  groups_text_.clear();
  FollowGroups();
}

/// The program may be put into other groups while it runs.
void ProgramWatch::FollowGroups() {
  const std::string process = pid_ != 0 ? std::to_string(pid_) : "self";
  const auto text = ReadOnce(root_, "/proc/" + process + "/cgroup");
  if (!gauges_.empty() && (!text || *text == groups_text_)) {
    return;
  }
  groups_text_ = text ? *text : "";
  gauges_.clear();
  if (pid_ != 0) {
    gauges_.push_back(MakeQuotaGauge(root_, missing_, process));
  }
  gauges_.push_back(MakeMemoryGauge(root_, pid_, missing_, process));
  for (const GaugePtr& gauge : gauges_) {
    gauge->Look(0, nullptr);
  }
}

void ProgramWatch::LookSlowly(WatchSample& sample) {
  using Time = std::chrono::steady_clock;
  constexpr auto kLong = std::chrono::milliseconds(3);
  constexpr int kRest = 9;
  if (pid_ == 0 || queues_ != nullptr || files_.sockets().empty() || sockets_rest_-- > 0) {
    return;
  }
  const auto began = Time::now();
  std::optional<std::int64_t> unsent;
  for (const char* list : kSocketLists) {
    const auto text = ReadOnce(root_, "/proc/" + std::to_string(pid_) + list);
    if (const auto here = text ? ParseSendQueues(*text, files_.sockets()) : std::nullopt) {
      unsent = unsent.value_or(0) + *here;
    }
  }
  if (unsent) {
    sample.pc.unsent_bytes = static_cast<double>(*unsent);
  }
  sockets_rest_ = Time::now() - began > kLong ? kRest : 0;
}

void ProgramWatch::LookAtConnections(WatchSample* sample) {
  const auto unsent =
      sample != nullptr && queues_ != nullptr ? queues_->Waiting(connections_) : std::nullopt;
  if (unsent) {
    sample->pc.unsent_bytes = static_cast<double>(*unsent);
  }
}

/// By the long list, so that each can be asked for by name afterwards; again where the program has
/// other sockets, or once in a while, since a socket may be connected later.
void ProgramWatch::FindConnections() {
  if (!root_.live() || !SharesOurNetwork(pid_)) {
    queues_.reset();
    return;
  }
  if (queues_ == nullptr) {
    queues_ = OpenSocketQueues();
  } else if (files_.sockets() == listed_ && ++lists_kept_ < kListsKept) {
    return;
  }
  lists_kept_ = 0;
  listed_ = files_.sockets();
  connections_.clear();
  if (queues_ == nullptr || listed_.empty()) {
    return;
  }
  for (const char* list : kSocketLists) {
    if (const auto text = ReadOnce(root_, "/proc/" + std::to_string(pid_) + list)) {
      const auto here = ParseConnections(*text, listed_);
      connections_.insert(connections_.end(), here.begin(), here.end());
    }
  }
}

void ProgramWatch::LookAround(const ProcessTable& table) {
  if (pid_ == 0) {
    return;
  }
  tree_ = table.Tree(pid_);
  tree_.erase(own_pid_);
  std::erase_if(members_, [this](const auto& member) { return !tree_.contains(member.first); });
  std::vector<std::pair<double, int>> by_use;
  for (const int pid : tree_) {
    by_use.emplace_back(pid == pid_ ? 1e9 : table.all().at(pid).cpus, pid);
  }
  std::sort(by_use.rbegin(), by_use.rend());
  std::map<int, GaugePtr> threads;
  for (std::size_t i = 0; i < std::min(by_use.size(), kMostMembers); ++i) {
    const int pid = by_use[i].second;
    if (!members_.contains(pid)) {
      members_.emplace(pid, KeptFile(root_, "/proc/" + std::to_string(pid) + "/stat"));
      // What it used before it was ours is not put to our account.
      const ProcessTicks& latest = table.all().at(pid).latest;
      last_ticks_ += latest.own + latest.children;
    }
    if (i >= kMostWithThreads) {
      continue;
    }
    auto known = threads_.extract(pid);
    if (known) {
      threads.insert(std::move(known));
    } else {
      auto gauge = MakeThreadGauge(root_, pid, "", missing_);
      gauge->Look(0, nullptr);
      threads.emplace(pid, std::move(gauge));
    }
  }
  threads_ = std::move(threads);
  if (looks_around_++ % kFilesEveryLooks == 0) {
    FollowGroups();
    FindFiles();
  }
}

void ProgramWatch::FindFiles() {
  std::set<int> pids;
  for (const auto& [pid, gauge] : threads_) {
    pids.insert(pid);
  }
  if (!files_.Find(pids)) {
    missing_("files that the program writes", "only its own user and root may see them");
  }
  if (!writers_.Find(pids)) {
    missing_("whether the program's writers wait for the disk",
             "only its own user and root may see it");
  }
  FindConnections();
  space_.Watch(root_.live() ? files_.busiest_path() : "");
}

void ProgramWatch::LookAtTicks(double seconds, WatchSample* sample) {
  std::int64_t ticks = 0;
  std::int64_t faults = 0;
  int running = 0;
  int stopped = 0;
  for (auto& [pid, stat] : members_) {
    const auto text = stat.Read();
    const auto process = text ? ParseProcessTicks(*text) : base::Result<ProcessTicks>(text.error());
    if (!process) {
      continue;
    }
    ++running;
    const char state = ParseProcessState(*text);
    stopped += state == 'T' || state == 't' ? 1 : 0;
    ticks += process->own + process->children;
    faults += process->major_faults;
  }
  if (sample != nullptr) {
    sample->program_runs = running > 0;
    sample->pc.own_cpus = Added(ticks, last_ticks_) / (seconds * ticks_per_second_);
    sample->pc.major_faults_per_second = Added(faults, last_faults_) / seconds;
    if (running > 0) {
      sample->stopped_percent = 100.0 * stopped / running;
    }
  }
  last_ticks_ = ticks;
  last_faults_ = faults;
}

void ProgramWatch::LookAtThreads(double seconds, WatchSample* sample) {
  for (const auto& [pid, gauge] : threads_) {
    TelemetrySample one;
    gauge->Look(seconds, sample == nullptr ? nullptr : &one);
    if (sample == nullptr) {
      continue;
    }
    if (one.run_wait_cpus) {
      sample->pc.run_wait_cpus = sample->pc.run_wait_cpus.value_or(0) + *one.run_wait_cpus;
    }
    if (one.hot_thread_cpus > sample->pc.hot_thread_cpus) {
      sample->pc.hot_thread_cpus = one.hot_thread_cpus;
      sample->pc.hot_thread = one.hot_thread;
    }
  }
}

void ProgramWatch::LookAtFiles(double seconds, const WatchDevices& devices, WatchSample* sample) {
  const auto grown = files_.Grown();
  if (sample == nullptr) {
    return;
  }
  if (grown) {
    sample->recording_bytes_per_second = *grown / seconds;
  }
  sample->pc.writers_asleep_percent = writers_.AsleepPercent(files_);
  sample->recording_free_bytes = space_.Bytes();
  for (std::size_t i = 0; i < devices.disks.size(); ++i) {
    if (devices.disks[i].name == files_.disk()) {
      sample->recording_disk = i;
    }
  }
}

void ProgramWatch::Look(double seconds, const WatchDevices& devices, WatchSample* sample) {
  WatchSample* told = noted_ ? sample : nullptr;
  for (const GaugePtr& gauge : gauges_) {
    gauge->Look(seconds, told == nullptr ? nullptr : &told->pc);
  }
  if (pid_ != 0) {  // after the gauges, which know the first process alone
    LookAtThreads(seconds, told);
    LookAtTicks(seconds, told);
    LookAtFiles(seconds, devices, told);
    LookAtConnections(told);
  } else if (sample != nullptr) {
    sample->pc.own_cpus = 0;  // no program, and so none of its work
  }
  noted_ = true;
}

}  // namespace probes
