// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/our_threads.h"

#include <algorithm>
#include <utility>

#include "base/text.h"
#include "probes/sampling/writer_threads.h"

namespace probes {
namespace {

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

}  // namespace

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

}  // namespace probes
