// SPDX-License-Identifier: Apache-2.0
//
// CPU that encoding asks, from the micro-costs of single frames.

#pragma once

#include <optional>

#include "bench/data/results.h"
#include "profiles/profile.h"

namespace report {

/// CPUs that all encodes take together: sum of rate x CPU time per frame. An
/// encode that several outputs share counts once.
/// Nothing when some output's cost was not measured.
std::optional<double> EncodeCpus(const bench::CostTable& costs, const profiles::Profile& profile);

}  // namespace report
