// SPDX-License-Identifier: Apache-2.0
//
// The beat of pictures: the rate that explains the steps between their times, if one does.

#pragma once

#include <optional>
#include <span>

#include "base/rational.h"
#include "probes/data/recording.h"

namespace probes {

/// Of what a picture is off the beat; the rest goes, so that a beat that is a little wrong follows.
inline constexpr double kLeadKept = 0.9;
/// Nearer to the beat than this, in periods, a picture is on it.
inline constexpr double kOnBeatPeriods = 0.25;

struct FoundBeat {
  base::Rational rate{0};
  double period_s = 0;
  double single = 0;  // share of steps that are one period
  RateFrom from = RateFrom::kUnknown;
  std::optional<base::Rational> stated;  // the container's, where it is a multiple of what comes
};

/// Rates of production and of the devices that feed it, ascending.
std::span<const base::Rational> StandardRates();

/// The standard rate within `most_ppm` of `per_second`, nearest first.
std::optional<base::Rational> StandardRateNear(double per_second, double most_ppm);

/// From steps between pictures in order of presentation, in seconds: `stated` (the container's)
/// where most steps are whole multiples of its period and some are one, else the standard rate that
/// the steps tell within 200 ppm and three standard errors, else what they tell. Nothing below
/// three steps, or where no period explains most of them.
std::optional<FoundBeat> FindBeat(std::span<const double> steps_s,
                                  const std::optional<base::Rational>& stated);

/// Whether `stated` is a rate of which only every second, third ... picture is there.
bool IsMultiple(const base::Rational& stated, const FoundBeat& beat);

/// The step where pictures come fastest: the mean of those like the tenth of them that are
/// shortest. 0 without any.
double FastestStep(std::span<const double> steps_s);

}  // namespace probes
