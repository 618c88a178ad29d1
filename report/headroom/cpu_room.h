// SPDX-License-Identifier: Apache-2.0
//
// How much more work the CPUs can do than the production as it is, with an interval.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/cpu/cpu_model.h"
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
  double speed = 0;       // times real time, of the production as it is
  Basis speed_basis = Basis::kAssumed;  // kMeasured: flat out
};

/// Nothing when the production's CPU use or the PC's CPUs are not known.
std::optional<CpuRoom> FindCpuRoom(const Facts& facts);

/// Speed of the flat-out run as it counts: a rehearsal without a drop has shown real time, whatever
/// disturbed the faster run. Nothing where none was run to its end.
std::optional<double> SpeedFlatOut(const Facts& facts);

/// CPUs that do this much work; infinite when all of them cannot.
double CpusFor(const CpuRoom& room, double work);

/// Speed flat out, times real time, of a production of this much work: `speed` times (done / work)
/// to this power, which is 1 for `most`.
double SpeedExponent(const CpuRoom& room);
double SpeedFor(const CpuRoom& room, double work);
/// An end of the interval as a share of `most`; of a speed it is the same share.
double ShareOfMost(const CpuRoom& room, double end);

/// Numbers of sources more.
struct CpuFit {
  int without_drops = 0;
  int lowest = 0;
  int highest = 0;
  int within_margins = 0;
  bool by_multiview = false;  // its one thread is full before all CPUs are
};

/// `multiview` is what its thread uses now; nothing is above `limit`.
CpuFit FitOnCpu(const CpuRoom& room, const AddedCpu& each, double multiview,
                const profiles::Margins& margins, int limit);

}  // namespace report
