// SPDX-License-Identifier: Apache-2.0
//
// Headroom by ballast beside headroom by arithmetic.

#pragma once

#include <vector>

#include "report/loads/facts.h"

namespace report {

/// One figure per ballast run that gave one. Headroom by ballast is extra load /
/// (extra load + the production's own), from what was carried to what dropped.
std::vector<BallastFigure> BallastFigures(const Facts& facts);

/// "72 % to 76 %", "at least 72 %", "less than 5 %", "not known".
std::string BallastRange(const BallastFigure& figure);
/// Whether the margin is kept for certain, and whether it is not; neither where it lies within.
bool KeepsMargin(const BallastFigure& figure);
bool MissesMargin(const BallastFigure& figure);

/// The lower figure rules: a row of "cpu" or "disk" above what ballast carried
/// comes down to it; where the search was cut short, only to what dropped.
void LowerByBallast(const Facts& facts, std::vector<Headroom>& rows);

/// What in the evidence makes arithmetic and ballast differ, a sentence each;
/// one that says so when nothing does.
std::vector<std::string> WhyBallastDiffers(const Facts& facts, const bench::BallastRun& run,
                                           const BallastFigure& figure);

}  // namespace report
