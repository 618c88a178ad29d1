// SPDX-License-Identifier: Apache-2.0
//
// The kinds of extra load of one ballast run: made, calibrated, and with the limits of their
// search.

#pragma once

#include <memory>
#include <string>
#include <vector>

#include "bench/ballast/paced_load.h"
#include "bench/ballast/run.h"

namespace bench {

/// One kind, ready to be paced.
struct BallastKind {
  BallastRun run;  // kind, item, unit, method, own use; why it cannot run
  std::unique_ptr<PacedLoad> load;
  bool by_cpu = false;   // its level is CPU time; else bytes
  double unit_cost = 0;  // of one unit of work, in CPU seconds or bytes
  double cpu_cost = 0;   // CPU seconds of one unit of work
  int threads = 1;       // that work at it
  double share = 0;      // of the time that is left when its turn comes

  /// CPUs that `level` takes by the calibration.
  double CpusAt(double level) const { return unit_cost > 0 ? level / unit_cost * cpu_cost : 0; }
};

/// CPU first, then each disk, then memory. Loads every kind for an instant to
/// find the cost of its unit: before the production starts.
std::vector<BallastKind> MakeBallastKinds(const RehearsalPlan& plan, const BallastOptions& options);

/// CPUs that arithmetic says are left.
double SpareCpus(const BallastOptions& options);

}  // namespace bench
