// SPDX-License-Identifier: Apache-2.0
//
// Confirms the predicted room for sources by rehearsing the profile with that many, and one more.

#pragma once

#include <functional>
#include <stop_token>

#include "base/clock.h"
#include "base/result.h"
#include "bench/data/results.h"
#include "bench/plan/plan.h"
#include "bench/runs/rehearsal.h"
#include "cli/system/progress.h"
#include "report/data/document.h"

namespace cli {

/// What a search works with; all of it outlives the search.
struct SearchParts {
  const profiles::Profile& profile;  // as it was read
  const report::Evidence& evidence;  // rehearsed, and measured for contention
  std::function<base::Result<bench::RehearsalPlan>(const profiles::Profile&)> plan;
  base::Clock& clock;
  ProgressDisplay& progress;
  std::stop_token stop;
  double seconds = 10;  // of each whole rehearsal; those that lead there are short
};

/// For the kind of source that the profile has most of. Nothing is run when
/// the production drops frames as it is; `stopped_because` says so.
bench::CapacitySearch SearchRoom(const SearchParts& parts);

}  // namespace cli
