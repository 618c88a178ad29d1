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
#include "probes/sampling/beat.h"
#include "probes/sampling/telemetry_collector.h"

namespace probes {
namespace {

double ThreadCpuSeconds() {
  struct timespec now {};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec) / 1e9;
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

TelemetryRecord SampleUntilStopped(const base::MachineRoot& root, const CollectorRequest& request,
                                   std::int64_t period_ns, base::Clock& clock,
                                   const std::stop_token& stop) {
  TelemetryCollector collector(root, request);
  TimeMoment last = ReadClocks();
  collector.Sample(last);
  OnTheBeat(clock, stop, request.start_ns, period_ns, [&] {
    last = ReadClocks();
    collector.Sample(last);
  });
  // Counters move in steps of a clock tick: a sample over a moment would say nothing.
  const TimeMoment end = ReadClocks();
  if (end.now_ns - last.now_ns >= period_ns / 2) {
    collector.Sample(end);
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
