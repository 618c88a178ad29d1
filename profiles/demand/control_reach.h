// SPDX-License-Identifier: Apache-2.0
//
// How long the cables of a camera-control chain may be.

#pragma once

#include <string>

#include "profiles/demand/cable_reach.h"
#include "profiles/profile.h"

namespace profiles {

struct ControlReach {
  /// Whether the limit is for each cable from camera to camera (RS-232, where each
  /// camera drives the next) or for the whole chain (RS-422, RS-485).
  bool each_cable = false;
  double metres = 0;
  ReachBasis basis = ReachBasis::kCommonPractice;
  std::string source;
};

ControlReach ReachOf(const ControlChain& chain);

/// All cables of the chain, and the longest of them.
double SumMetres(const ControlChain& chain);
double LongestMetres(const ControlChain& chain);

/// Above it RS-232's own limit of 20 kbit/s is passed.
inline constexpr int kFastestRs232Baud = 20'000;

}  // namespace profiles
