// SPDX-License-Identifier: Apache-2.0
//
// Runs a plan: in real time with everything a production does, or flat out.

#pragma once

#include <functional>
#include <stop_token>

#include "base/clock.h"
#include "base/result.h"
#include "bench/data/results.h"
#include "bench/plan/plan.h"

namespace bench {

/// Called about five times a second with the share done, 0 .. 1, and frames dropped so far.
using Progress = std::function<void(double fraction, std::int64_t dropped)>;

/// Sources and rings made once, to be run several times.
class PreparedFeeds;
struct DeleteFeeds {
  void operator()(PreparedFeeds* feeds) const;
};
using FeedsPtr = std::unique_ptr<PreparedFeeds, DeleteFeeds>;

/// What can be known to fail before any load: a clip that cannot be read, or a
/// recording to be kept whose name is taken. kInvalid; kIo when `stop` was requested.
base::Status CheckBeforeLoad(const RehearsalPlan& plan, const std::stop_token& stop);

/// Paints what the cameras will show; kInvalid for a clip that cannot be read, kIo when `stop` was
/// requested.
/// `most_pictures` of each feed (0: no such limit), but never too few to move.
base::Result<FeedsPtr> PrepareFeeds(const RehearsalPlan& plan, const std::stop_token& stop,
                                    int most_pictures = 0);

/// The same feeds for a plan with sources added behind them, which all show what the one named
/// `like` shows: a run at full speed needs no pictures of its own. kInvalid without such a source.
base::Result<FeedsPtr> ShareFeeds(const RehearsalPlan& grown, const PreparedFeeds& feeds,
                                  const std::string& like);

/// `seconds` of production in real time by `clock`. A part that cannot start
/// (an encoder that refuses, a folder that is full) is an Error; one that fails
/// later ends the run, marked incomplete.
base::Result<Rehearsal> RunRehearsal(const RehearsalPlan& plan, const PreparedFeeds& feeds,
                                     double seconds, base::Clock& clock,
                                     const std::stop_token& stop, const Progress& progress);

/// As fast as it goes: until `production_seconds` are made or `wall_seconds` have passed.
base::Result<FlatOut> RunFlatOut(const RehearsalPlan& asked, const PreparedFeeds& feeds,
                                 double production_seconds, double wall_seconds,
                                 const std::stop_token& stop, const Progress& progress);

}  // namespace bench
