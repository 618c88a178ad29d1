// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/our_processes.h"

#include <sys/syscall.h>

#include <algorithm>
#include <array>
#include <cstddef>
#include <utility>
#include <vector>

#include "base/text.h"

namespace probes {
namespace {

constexpr std::size_t kMostMembers = 24;     // read at every sample
constexpr std::size_t kMostWithThreads = 3;  // processes whose threads are looked at
constexpr int kGroupsEveryLooks = 2;         // of those around
constexpr std::size_t kLongestName = 20;
constexpr int kNamesEveryLooks = 3;  // of those around, where every name is needed

std::string FolderOf(int pid) {
  return "/proc/" + std::to_string(pid) + "/task";
}

std::string PathOf(int pid, int thread, const char* file) {
  return FolderOf(pid) + "/" + std::to_string(thread) + "/" + file;
}

/// The kernel tells a wait when it ends; and its clocks of several CPUs may
/// differ, so that a wait seems longer than the time there was for it.
double WaitedNs(const ThreadTimes& before, const ThreadTimes& now, double seconds,
                double& quiet_s) {
  quiet_s += seconds;
  const double added_ns = Added(now.wait_ns, before.wait_ns);
  return added_ns > 0 ? std::min(added_ns, std::exchange(quiet_s, 0) * 1e9) : 0;
}

/// Calls in which a writer waits for a file system; the descriptor is their first argument.
constexpr std::array<std::int64_t, 8> kWriteCalls{SYS_write,           SYS_pwrite64, SYS_writev,
                                                  SYS_pwritev,         SYS_fsync,    SYS_fdatasync,
                                                  SYS_sync_file_range, SYS_fallocate};

}  // namespace

std::optional<std::int64_t> AwaitedWrite(std::string_view syscall_text) {
  const auto call = ParseSystemCall(syscall_text);
  const bool writes =
      call && std::find(kWriteCalls.begin(), kWriteCalls.end(), call->first) != kWriteCalls.end();
  return writes ? std::optional(call->second) : std::nullopt;
}

OurThreads::OurThreads(const base::MachineRoot& root, std::string writer_prefix, Missing missing)
    : root_(root), writer_prefix_(std::move(writer_prefix)), missing_(std::move(missing)) {}

void OurThreads::Follow(const std::set<int>& pids) {
  std::erase_if(processes_, [&pids](const auto& each) { return !pids.contains(each.first); });
  for (const int pid : pids) {
    const auto [process, fresh] = processes_.try_emplace(pid);
    if (!fresh) {
      continue;
    }
    Sums noted;
    List(pid, process->second);
    LookAtTimes(pid, process->second, 0, noted);
    if (!noted.any) {
      missing_("waiting of our threads", "the kernel keeps no times of threads");
    }
  }
}

void OurThreads::List(int pid, Process& process) {
  std::map<int, Thread> there;
  for (const int thread : NumbersIn(root_, FolderOf(pid))) {
    if (auto known = process.threads.extract(thread)) {
      there.insert(std::move(known));
    } else {
      there.emplace(
          thread, Thread{KeptFile(root_, PathOf(pid, thread, "schedstat")), {}, 0, {}, false, {}});
    }
  }
  process.threads = std::move(there);
}

void OurThreads::LookAtTimes(int pid, Process& process, double seconds, Sums& sums) {
  for (auto each = process.threads.begin(); each != process.threads.end();) {
    Thread& thread = each->second;
    const auto text = thread.schedstat.Read();
    const auto now = text ? ParseThreadTimes(*text) : std::nullopt;
    if (!now) {
      process.counted.reset();  // another one may have taken its place
      each = process.threads.erase(each);
      continue;
    }
    sums.any = true;
    if (thread.times) {
      sums.wait_ns += WaitedNs(*thread.times, *now, seconds, thread.quiet_s);
      const double run_ns = Added(now->run_ns, thread.times->run_ns);
      if (run_ns > sums.most_ns) {
        sums.most_ns = run_ns;
        sums.pid = pid;
        sums.thread = each->first;
      }
    }
    thread.times = *now;
    ++each;
  }
}

void OurThreads::Look(double seconds, const std::map<int, int>& counts, WatchSample* sample) {
  Sums sums;
  for (auto& [pid, process] : processes_) {
    const auto count = counts.find(pid);
    if (!process.counted || count == counts.end() || *process.counted != count->second) {
      List(pid, process);
      process.counted = count == counts.end() ? std::nullopt : std::optional(count->second);
    }
    LookAtTimes(pid, process, seconds, sums);
  }
  if (sample == nullptr || !sums.any) {
    return;
  }
  sample->pc.run_wait_cpus = sums.wait_ns / 1e9 / seconds;
  if (sums.thread != 0) {
    Thread& hottest = processes_.at(sums.pid).threads.at(sums.thread);
    sample->pc.hot_thread = Name(sums.pid, sums.thread, hottest);
    sample->pc.hot_thread_cpus = sums.most_ns / 1e9 / seconds;
  }
  if (!writer_prefix_.empty()) {
    sample->pc.writers_asleep_percent = WritersAsleep();
  }
}

void OurThreads::LookAround() {
  if (!writer_prefix_.empty() && ++looks_around_ % kNamesEveryLooks != 0) {
    return;
  }
  for (auto& [pid, process] : processes_) {
    for (auto& [id, thread] : process.threads) {
      thread.name_read = false;
    }
  }
}

const std::string& OurThreads::Name(int pid, int thread, Thread& known) {
  if (!known.name_read) {
    const auto name = ReadOnce(root_, PathOf(pid, thread, "comm"));
    known.name = name ? base::Printable(base::Trim(*name), kLongestName) : "";
    known.name_read = true;
  }
  return known.name;
}

std::optional<double> OurThreads::WritersAsleep() {
  int writers = 0;
  int asleep = 0;
  for (auto& [pid, process] : processes_) {
    for (auto& [id, thread] : process.threads) {
      if (!Name(pid, id, thread).starts_with(writer_prefix_)) {
        continue;
      }
      if (!thread.call) {
        thread.call.emplace(root_, PathOf(pid, id, "syscall"));
      }
      if (const auto text = thread.call->Read()) {
        ++writers;
        asleep += AwaitedWrite(*text) ? 1 : 0;
      }
    }
  }
  return writers > 0 ? std::optional(100.0 * asleep / writers) : std::nullopt;
}

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
