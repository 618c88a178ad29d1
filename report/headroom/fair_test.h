// SPDX-License-Identifier: Apache-2.0
//
// Whether other programs left the rehearsal what a verdict needs.

#pragma once

#include <string>
#include <vector>

#include "report/loads/facts.h"

namespace report {

/// A tenth of a CPU: programs that take more than that beside a rehearsal make
/// it no test of the PC by itself.
inline constexpr double kFairCpus = 0.1;

/// Judged by what other programs took while the rehearsal was judged. `fair`
/// is nothing where nothing was rehearsed, or where that was not sampled.
FairTest JudgeFairness(const Facts& facts, const std::vector<Headroom>& headroom);

/// What other programs took before the load that would spoil it, a sentence
/// each; empty: the PC is quiet. What could not be read is a sentence of `not_read`.
struct Disturbance {
  std::vector<std::string> taken;
  std::vector<std::string> not_read;
};
Disturbance DisturbanceBefore(const Evidence& evidence);

}  // namespace report
