// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/control_reach.h"

#include <algorithm>
#include <numeric>

#include <fmt/format.h>

namespace profiles {

ControlReach ReachOf(const ControlChain& chain) {
  ControlReach reach;
  if (chain.wires == ControlWires::kRs232) {
    // 2500 pF of load, at 50 pF a foot of cable, are 15 m; the length doubles as the
    // speed halves below 19200 baud (handbook pages on EIA-232).
    constexpr double kFeetOf2500Pf = 50;
    constexpr double kMetresPerFoot = 0.3048;
    constexpr double kAtBaud = 19'200;
    reach.each_cable = true;
    reach.metres = kFeetOf2500Pf * kMetresPerFoot * kAtBaud / chain.speed_baud;
    reach.source = fmt::format(
        "RS-232 drives 2500 pF, 15 m of usual cable, up to 19200 baud; the length halves as the "
        "speed doubles: {:.3g} m at {} baud",
        reach.metres, chain.speed_baud);
    return reach;
  }
  // Handbook tables of TIA-422 and TIA-485: 1200 m of terminated 24 AWG twisted
  // pair up to 100 kbit/s; beyond, length times speed stays.
  constexpr double kLongest = 1200;
  constexpr double kAtBaud = 100'000;
  reach.metres = kLongest * std::min(1.0, kAtBaud / chain.speed_baud);
  reach.basis = ReachBasis::kStandard;
  reach.source = fmt::format(
      "{} on 24 AWG twisted pair with its end terminated: {:.4g} m for the whole chain at {} baud",
      chain.wires == ControlWires::kRs422 ? "TIA-422" : "TIA-485", reach.metres, chain.speed_baud);
  return reach;
}

double SumMetres(const ControlChain& chain) {
  return std::accumulate(chain.cameras.begin(), chain.cameras.end(), 0.0,
                         [](double sum, const auto& camera) { return sum + camera.cable_metres; });
}

double LongestMetres(const ControlChain& chain) {
  double longest = 0;
  for (const ControlledCamera& camera : chain.cameras) {
    longest = std::max(longest, camera.cable_metres);
  }
  return longest;
}

}  // namespace profiles
