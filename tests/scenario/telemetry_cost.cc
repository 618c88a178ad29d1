// SPDX-License-Identifier: Apache-2.0
//
// What one telemetry sample of this PC costs: `telemetry_cost` prints CPU time a sample. Ten
// samples a second may take 1 % of one core: 1 ms each.

#include <unistd.h>

#include <benchmark/benchmark.h>

#include "base/clock.h"
#include "probes/sampling/telemetry_collector.h"

namespace {

void SampleOfThisPc(benchmark::State& state) {
  const base::MachineRoot root = base::MachineRoot::Live();
  probes::CollectorRequest request;
  request.own_pid = static_cast<int>(getpid());
  request.folder = "/";
  request.own_sockets = true;
  probes::TelemetryCollector collector(root, request);
  // The beat of ten a second by the collector's clock, so that scans come as often as in a run.
  std::int64_t now_ns = 0;
  while (state.KeepRunning()) {
    now_ns += 100'000'000;
    collector.Sample({now_ns, now_ns, now_ns});
  }
}
BENCHMARK(SampleOfThisPc)->Unit(benchmark::kMicrosecond);

}  // namespace

BENCHMARK_MAIN();
