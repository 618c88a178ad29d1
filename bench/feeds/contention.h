// SPDX-License-Identifier: Apache-2.0
//
// How much workers stand in each other's way: one encode by one CPU, by two ... by all at once.

#pragma once

#include <functional>
#include <memory>
#include <stop_token>
#include <string>
#include <vector>

#include "base/result.h"
#include "bench/data/results.h"
#include "bench/plan/plan.h"

namespace bench {

/// Does the work for one picture; each worker has its own and calls it from one thread.
using WorkOnce = std::function<base::Status()>;

struct ContentionOptions {
  int cpus = 1;        // most workers
  double seconds = 6;  // for all runs together
};

/// Every number of workers up to four; more CPUs get a handful of numbers, ending in all.
std::vector<int> WorkerCounts(int cpus);

/// Pictures a second of all workers together, the better of two runs for each
/// number (what disturbs a run only lowers it). `make` is called once for each
/// worker of a run. What fails is told in `failure`; what was measured stays.
std::vector<ContentionPoint> MeasureWorkers(const std::function<base::Result<WorkOnce>()>& make,
                                            const ContentionOptions& options, std::string& failure,
                                            const std::stop_token& stop);

/// The production's dearest software encode on one thread each, with pictures
/// of its content; then copies in memory by all CPUs.
Contention MeasureContention(const RehearsalPlan& plan, const ContentionOptions& options,
                             const std::stop_token& stop = {});

/// Bytes read and written per second by `cpus` copiers, each between two
/// blocks of `block_bytes` of its own, for `seconds`.
double MeasureMemoryTraffic(int cpus, std::int64_t block_bytes, double seconds);

}  // namespace bench
