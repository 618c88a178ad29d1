// SPDX-License-Identifier: Apache-2.0
//
// How long a cable may be for the picture that it carries, and the cables of a chain of camera
// control, by published limits.

#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "profiles/profile.h"

namespace profiles {

/// "standard": a standard limits it, or gives the figure that the limit follows
/// from. "common practice": the trade counts on it.
enum class ReachBasis { kStandard, kCommonPractice };
std::string_view BasisText(ReachBasis basis);

/// Speeds that the machine tells; 0 where it does not.
struct NegotiatedSpeeds {
  double usb_mbps = 0;
  double network_mbps = 0;
};

struct CableReach {
  /// Longest that is sure to be within the limit; absent: nothing limits it by length.
  std::optional<double> metres;
  /// Longer than this is sure to be beyond it; more than `metres` where the
  /// cable's loss at this rate is known between two bounds only.
  std::optional<double> beyond_metres;
  ReachBasis basis = ReachBasis::kCommonPractice;
  std::string carries;  // what the limit is for: "3G-SDI (ST 424)", "1000 Mb/s"
  std::string source;   // of the limit, one line
};

/// The reach of `cable` for the picture of `source`.
CableReach ReachOf(const Cable& cable, const Source& source, const NegotiatedSpeeds& speeds);

/// Loss in dB that an SDI receiver must take at half the clock.
double SdiLossLimitDb(double bits_per_second);

/// Bounds of the loss in dB of 100 m at `mhz`, from a data sheet's figure at
/// `at_mhz`. Loss is a sqrt(f) + b f with a, b >= 0 (skin effect and
/// dielectric), so it grows at least as fast as sqrt(f) and at most as fast as f.
struct LossBounds {
  double least_db = 0;
  double most_db = 0;
};
LossBounds LossPer100m(double db_per_100m, double at_mhz, double mhz);

/// How long the cables of a camera-control chain may be.
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
