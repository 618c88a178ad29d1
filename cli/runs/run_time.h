// SPDX-License-Identifier: Apache-2.0
//
// How long a run takes: what is said before it, and what of a bounded one is left.

#pragma once

#include <cstdint>
#include <string>

#include "base/clock.h"
#include "cli/options/durations.h"
#include "profiles/profile.h"

namespace cli {

/// Of the measurements of a qualification on a PC with `cpus`; a bounded run
/// takes no longer than its bound. The search for room is not in it.
double ExpectedSeconds(const profiles::Profile& profile, const Durations& durations, int cpus);

/// Pictures of each feed that can be painted in the time that a bounded run has for it.
int MostPictures(const profiles::Profile& profile, const Durations& durations, int cpus);

/// "this takes about 95 s, 120 s at most".
std::string ExpectedText(const profiles::Profile& profile, const Durations& durations, int cpus);

/// The time of a bounded run, so that it ends in time whatever its parts take.
class TimeLeft {
 public:
  /// `whole_s` 0: not bounded.
  TimeLeft(const base::Clock& clock, double whole_s);

  bool bounded() const { return whole_s_ > 0; }
  /// Seconds; without a bound more than any part takes.
  double Seconds() const;
  /// `seconds` passed that are none of the run's: a person was asked.
  void Extend(double seconds) { whole_s_ += bounded() ? seconds : 0; }
  /// Of `wanted_s`, what may be spent when `reserved_s` must be left; 0 when
  /// that is less than `least_s`.
  double Share(double wanted_s, double least_s, double reserved_s) const;

 private:
  const base::Clock* clock_;
  std::int64_t began_ns_;
  double whole_s_;
};

}  // namespace cli
