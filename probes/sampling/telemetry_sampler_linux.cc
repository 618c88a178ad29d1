// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/telemetry_sampler.h"

#include <time.h>
#include <unistd.h>

#include <algorithm>
#include <cstdint>
#include <exception>
#include <filesystem>
#include <stop_token>
#include <string>
#include <system_error>
#include <utility>

#include "base/text.h"
#include "probes/sampling/telemetry_collector.h"

namespace probes {
namespace {

constexpr std::int64_t kLongestSleepNs = 50'000'000;  // so that Stop never waits long

double ThreadCpuSeconds() {
  struct timespec now {};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec) / 1e9;
}

std::int64_t WallClockNs() {
  struct timespec now {};
  clock_gettime(CLOCK_REALTIME, &now);
  return static_cast<std::int64_t>(now.tv_sec) * 1'000'000'000 + now.tv_nsec;
}

/// The process that serves our local page, where it started this one; 0: something else did.
int PageThatStartedUs() {
  std::error_code unread;
  const auto ours = std::filesystem::read_symlink("/proc/self/exe", unread);
  const int parent = static_cast<int>(getppid());
  const auto its =
      std::filesystem::read_symlink("/proc/" + std::to_string(parent) + "/exe", unread);
  return !unread && !ours.empty() && ours == its ? parent : 0;
}

/// Waits for `deadline_ns` in short sleeps; false when it is time to end.
bool WaitUntil(base::Clock& clock, std::int64_t deadline_ns, const std::stop_token& stop) {
  for (std::int64_t now = clock.NowNs(); now < deadline_ns; now = clock.NowNs()) {
    if (stop.stop_requested()) {
      return false;
    }
    clock.SleepUntilNs(std::min(deadline_ns, now + kLongestSleepNs));
  }
  return !stop.stop_requested();
}

TelemetryRecord SampleUntilStopped(const base::MachineRoot& root, const CollectorRequest& request,
                                   std::int64_t period_ns, base::Clock& clock,
                                   const std::stop_token& stop) {
  TelemetryCollector collector(root, request);
  std::int64_t last_ns = clock.NowNs();
  collector.Sample(last_ns, WallClockNs());
  std::int64_t due_ns = request.start_ns + period_ns;
  while (WaitUntil(clock, due_ns, stop)) {
    last_ns = clock.NowNs();
    collector.Sample(last_ns, WallClockNs());
    // Samples that came too late are left out, the next one is on the beat again.
    due_ns += ((last_ns - due_ns) / period_ns + 1) * period_ns;
  }
  // Counters move in steps of a clock tick: a sample over a moment would say nothing.
  const std::int64_t end_ns = clock.NowNs();
  if (end_ns - last_ns >= period_ns / 2) {
    collector.Sample(end_ns, WallClockNs());
  }
  return collector.Finish();
}

}  // namespace

TelemetrySampler::TelemetrySampler(const base::MachineRoot& root, const TelemetryRequest& request,
                                   base::Clock& clock) {
  const double hz = std::clamp(request.hz, 1.0, 20.0);
  CollectorRequest collect;
  collect.own_pid = static_cast<int>(getpid());
  collect.helper_pid = PageThatStartedUs();
  collect.ticks_per_second = static_cast<double>(sysconf(_SC_CLK_TCK));
  collect.folder = request.folder;
  collect.writer_prefix = request.writer_prefix;
  collect.own_sockets = root.live();
  collect.start_ns = clock.NowNs();
  thread_ = std::jthread([this, root, collect, hz, &clock](const std::stop_token& stop) {
    try {
      record_ = SampleUntilStopped(root, collect, static_cast<std::int64_t>(1e9 / hz), clock, stop);
    } catch (const std::exception& failure) {
      record_.not_read.push_back("telemetry ended early: " + base::Printable(failure.what()));
    }
    record_.period_s = 1 / hz;
    record_.cost_cpu_seconds = ThreadCpuSeconds();
  });
}

TelemetryRecord TelemetrySampler::Stop() {
  if (thread_.joinable()) {
    thread_.request_stop();
    thread_.join();
  }
  return std::exchange(record_, {});
}

void CountFrom(TelemetryRecord& record, std::int64_t zero_ns) {
  const double later_s = static_cast<double>(zero_ns - record.zero_ns) / 1e9;
  for (TelemetrySample& sample : record.samples) {
    sample.at_s -= later_s;
  }
  std::erase_if(record.samples, [](const TelemetrySample& sample) { return sample.at_s <= 0; });
  record.zero_ns = zero_ns;
}

}  // namespace probes
