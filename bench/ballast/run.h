// SPDX-License-Identifier: Apache-2.0
//
// Headroom by ballast: one production in real time, and more and more load beside it.

#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <stop_token>
#include <string>
#include <vector>

#include "base/clock.h"
#include "base/result.h"
#include "bench/data/results.h"
#include "bench/plan/plan.h"
#include "bench/runs/rehearsal.h"

namespace bench {

struct BallastDisk {
  std::filesystem::path folder;
  double own_bytes_per_second = 0;        // what the recordings wrote in the plain rehearsal
  double sustained_bytes_per_second = 0;  // measured before; 0: not measured
};

struct BallastOptions {
  double seconds = 20;  // all kinds together, after the production has started
  double usable_cpus = 1;
  double own_cpus = 0;                    // of the plain rehearsal
  double others_cpus = 0;                 // taken by others meanwhile
  std::int64_t cache_bytes = 32LL << 20;  // last-level cache
  std::int64_t available_memory_bytes = 1LL << 30;
  double memory_traffic_bytes_per_second = 0;  // of the production, computed
  std::vector<BallastDisk> disks;              // folders that are recorded to
};

/// Told with every new level: "cpu: 1.3 CPUs".
using BallastNote = std::function<void(const std::string& text)>;

/// Runs the plan once more with throwaway files and searches, kind after kind
/// (cpu, each disk, memory), for the most extra load at which no frame drops. A
/// part that cannot start is an Error; what ends a search early stands in its
/// `stopped_because`. Ends within a second of `stop`, files removed.
base::Result<std::vector<BallastRun>> RunBallast(const RehearsalPlan& asked,
                                                 const PreparedFeeds& feeds,
                                                 const BallastOptions& options, base::Clock& clock,
                                                 const std::stop_token& stop,
                                                 const BallastNote& note);

}  // namespace bench
