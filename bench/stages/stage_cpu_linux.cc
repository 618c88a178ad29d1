// SPDX-License-Identifier: Apache-2.0

#include "bench/stages/stage_cpu.h"

#include <pthread.h>
#include <sys/resource.h>
#include <unistd.h>

#include <ctime>
#include <filesystem>
#include <fstream>
#include <functional>

#include <fmt/format.h>

namespace bench {
namespace {

constexpr std::size_t kLongestName = 15;  // the kernel keeps no more

/// First field of /proc/PID/task/TID/schedstat: ns on a CPU
/// (Documentation/scheduler/sched-stats.rst).
double TaskCpuSeconds(const std::filesystem::path& task) {
  std::ifstream schedstat(task / "schedstat");
  double on_cpu_ns = 0;
  schedstat >> on_cpu_ns;
  return on_cpu_ns / 1e9;
}

}  // namespace

std::string ThreadName(std::string_view stage, std::string_view item) {
  const auto tag = static_cast<unsigned>(std::hash<std::string_view>()(item) & 0xFFFFFFFFU);
  return fmt::format("{}:{:08x}", stage, tag).substr(0, kLongestName);
}

void NameThread(std::string_view stage, std::string_view item) {
  pthread_setname_np(pthread_self(), ThreadName(stage, item).c_str());
}

std::map<std::string, double> ThreadCpuSeconds() {
  std::map<std::string, double> seconds;
  std::error_code code;
  for (std::filesystem::directory_iterator task("/proc/self/task", code), end; !code && task != end;
       task.increment(code)) {
    std::ifstream comm(task->path() / "comm");
    std::string name;
    if (std::getline(comm, name)) {
      seconds[name] += TaskCpuSeconds(task->path());
    }
  }
  return seconds;
}

double OwnThreadCpuSeconds() {
  timespec time{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &time);
  return static_cast<double>(time.tv_sec) + static_cast<double>(time.tv_nsec) / 1e9;
}

double ProcessCpuSeconds() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  const auto seconds = [](const timeval& time) {
    return static_cast<double>(time.tv_sec) + static_cast<double>(time.tv_usec) / 1e6;
  };
  return seconds(usage.ru_utime) + seconds(usage.ru_stime);
}

std::int64_t ResidentBytes() {
  std::ifstream statm("/proc/self/statm");
  std::int64_t total_pages = 0;
  std::int64_t resident_pages = 0;
  statm >> total_pages >> resident_pages;
  return resident_pages * sysconf(_SC_PAGESIZE);
}

}  // namespace bench
