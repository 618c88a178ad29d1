// SPDX-License-Identifier: Apache-2.0
//
// How much more work the CPUs can do than the production as it is, with an interval.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/cpu/load_curve.h"
#include "report/cpu/scalability.h"
#include "report/loads/facts.h"

namespace report {

/// Work is counted in CPUs of a PC on which nobody waits for another: what
/// `used` CPUs do together is ScaledBy(law, used).
struct CpuRoom {
  double available = 0;  // capacity of the headroom's row, so what others and extra load left
  double used = 0;       // demand of that row: of all that was due in the production as it is
  Scalability law;       // without a measured one: nobody waits; never falls up to `available`
  bool law_measured = false;
  double done = 0;    // work of the production as it is
  double most = 0;    // work that can be done without drops
  double lowest = 0;  // interval of `most`
  double highest = 0;
  bool by_speed = false;  // the flat-out run used the CPUs up, and `most` comes from it
  int grown = 0;          // full-speed runs with sources added that tell of growth
  double speed = 0;       // times real time, of the production as it is
  Basis speed_basis = Basis::kAssumed;  // kMeasured: flat out
  /// From the production as it is upward, through what was measured at full speed. Their CPUs count
  /// where `cpus_by_pieces`; else the law's do.
  std::vector<LoadPiece> pieces;
  bool cpus_by_pieces = false;
};

/// Nothing when the production's CPU use or the PC's CPUs are not known.
std::optional<CpuRoom> FindCpuRoom(const Facts& facts);

/// The fastest run with sources added, where it was faster than the production by itself; else
/// null. Whoever does more work in that time does less, too.
const bench::GrownFlatOut* FasterWithMore(const bench::Results& results);

/// Speed of the flat-out run as it counts: a rehearsal without a drop has shown real time, and a
/// run with sources added its own speed, whatever disturbed the run of the production by itself.
/// Nothing where that was not run to its end.
std::optional<double> SpeedFlatOut(const Facts& facts);

/// Mean of a run's windows, the first ones left out. Near real time the pictures of many sources
/// come in lumps, so that no single window tells.
double MeanSpeed(const bench::FlatOut& run);

/// CPUs that do this much work in real time; infinite when all of them cannot, by the law.
double CpusFor(const CpuRoom& room, double work);

/// Speed flat out, times real time, of a production of this much work.
double SpeedFor(const CpuRoom& room, double work);
/// An end of the interval as a share of `most`; of a speed it is the same share.
double ShareOfMost(const CpuRoom& room, double end);

}  // namespace report
