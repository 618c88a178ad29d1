// SPDX-License-Identifier: Apache-2.0
//
// Finds how many sources more are carried: from a prediction, by rehearsals that correct it.

#pragma once

#include <functional>
#include <stop_token>
#include <string>

#include "base/result.h"
#include "bench/data/results.h"

namespace bench {

struct SearchOptions {
  std::string like;
  int predicted = 0;
  int limit = 16;         // most that is tried
  double plain_load = 0;  // of the profile as it is, which was carried; 0: not known
};

enum class TrialLength {
  kShort,  // to find about where the boundary is
  kWhole,  // to believe it
};

/// Rehearses the profile with `added` sources; an Error says why it cannot run.
using SearchTrial = std::function<base::Result<SearchRun>(int added, TrialLength length)>;

/// Ends when N was carried in a whole rehearsal and N + 1 was not, or the limit
/// was carried. Short ones lead there: the next number comes from a line through
/// the measured loads, kept between what seems to be carried and what is not.
/// Clear losses in a short run are believed, for a longer one has them too; that
/// nothing was lost is believed of whole runs only. A whole run that was near and
/// that no other one agrees with is repeated, and two that disagree are settled by a
/// third. The profile as it is has been carried before this is called.
CapacitySearch SearchCapacity(const SearchOptions& options, const SearchTrial& trial,
                              const std::stop_token& stop = {});

/// Whether a run is too near the boundary to be believed alone: carried with
/// hardly any CPU left, or not carried for a few frames only.
bool Near(const SearchRun& run);

}  // namespace bench
