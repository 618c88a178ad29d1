// SPDX-License-Identifier: Apache-2.0
//
// Our own threads: who waits for a CPU, which is the busiest, and whether writers sleep in a write.

#include <sys/syscall.h>

#include <algorithm>
#include <array>
#include <map>
#include <optional>
#include <string>
#include <utility>

#include "base/text.h"
#include "probes/procfs/kept_file.h"
#include "probes/procfs/telemetry_texts.h"
#include "probes/sampling/telemetry_gauges.h"

namespace probes {
namespace {

/// Calls in which a writer waits for a file system.
constexpr std::array<std::int64_t, 7> kWriteCalls{SYS_write,    SYS_pwrite64,  SYS_writev,
                                                  SYS_fsync,    SYS_fdatasync, SYS_sync_file_range,
                                                  SYS_fallocate};

class ThreadGauge : public Gauge {
 public:
  ThreadGauge(const base::MachineRoot& root, int own_pid, std::string writer_prefix,
              const Missing& missing)
      : root_(root),
        tasks_("/proc/" + std::to_string(own_pid) + "/task"),
        writer_prefix_(std::move(writer_prefix)),
        missing_(missing) {}

  void Look(double seconds, TelemetrySample* sample) override {
    std::map<std::string, Thread> now;  // those that are still there
    double wait_ns = 0;
    double most_ns = 0;
    std::string hottest;
    for (const std::string& id : root_.List(tasks_).value_or({})) {
      auto known = threads_.extract(id);
      Thread thread = known ? std::move(known.mapped())
                            : Thread{{}, Name(id), KeptFile(root_, Path(id, "schedstat")), 0};
      const auto text = thread.schedstat.Read();
      const auto times = text ? ParseThreadTimes(*text) : std::nullopt;
      if (!times) {
        continue;
      }
      if (known) {
        wait_ns += WaitedNs(*times, seconds, thread);
        const double run_ns = Added(times->run_ns, thread.times.run_ns);
        if (run_ns > most_ns) {
          most_ns = run_ns;
          hottest = id;
        }
      }
      thread.times = *times;
      now.emplace(id, std::move(thread));
    }
    if (sample == nullptr && now.empty()) {
      missing_("waiting of our threads", "the kernel keeps no times of threads");
    }
    threads_ = std::move(now);
    if (sample != nullptr && !threads_.empty()) {
      sample->run_wait_cpus = wait_ns / 1e9 / seconds;
      if (!hottest.empty()) {
        sample->hot_thread = Name(hottest);  // a thread may have named itself since it was met
        sample->hot_thread_cpus = most_ns / 1e9 / seconds;
      }
      sample->writers_asleep_percent = WritersAsleep();
    }
  }

  void LookAround() override {
    for (auto& [id, thread] : threads_) {
      thread.name = Name(id);
    }
  }

 private:
  struct Thread {
    ThreadTimes times;
    std::string name;
    KeptFile schedstat;
    double quiet_s = 0;  // since its waiting was last told
  };

  /// The kernel tells a wait when it ends; and its clocks of several CPUs may
  /// differ, so that a wait seems longer than the time there was for it.
  static double WaitedNs(const ThreadTimes& now, double seconds, Thread& thread) {
    thread.quiet_s += seconds;
    const double added_ns = Added(now.wait_ns, thread.times.wait_ns);
    if (added_ns <= 0) {
      return 0;
    }
    return std::min(added_ns, std::exchange(thread.quiet_s, 0) * 1e9);
  }

  std::string Path(const std::string& id, const char* file) const {
    return tasks_ + "/" + id + "/" + file;
  }
  std::string Name(const std::string& id) const {
    const auto name = ReadOnce(root_, Path(id, "comm"));
    return name ? base::Printable(base::Trim(*name), 20) : "";
  }

  std::optional<double> WritersAsleep() const {
    int writers = 0;
    int asleep = 0;
    for (const auto& [id, thread] : threads_) {
      if (writer_prefix_.empty() || !thread.name.starts_with(writer_prefix_)) {
        continue;
      }
      // "running", or the number of the call in which the thread sleeps (proc_pid_syscall(5)).
      const auto text = ReadOnce(root_, Path(id, "syscall"));
      if (!text) {
        continue;
      }
      ++writers;
      const auto call = base::ParseInt(text->substr(0, text->find(' ')));
      asleep +=
          call && std::find(kWriteCalls.begin(), kWriteCalls.end(), *call) != kWriteCalls.end() ? 1
                                                                                                : 0;
    }
    return writers > 0 ? std::optional(100.0 * asleep / writers) : std::nullopt;
  }

  const base::MachineRoot& root_;
  const std::string tasks_;
  const std::string writer_prefix_;
  const Missing missing_;
  std::map<std::string, Thread> threads_;
};

}  // namespace

GaugePtr MakeThreadGauge(const base::MachineRoot& root, int own_pid, std::string writer_prefix,
                         const Missing& missing) {
  return std::make_unique<ThreadGauge>(root, own_pid, std::move(writer_prefix), missing);
}

}  // namespace probes
