// SPDX-License-Identifier: Apache-2.0
//
// Wall time that is given to each measurement of a run.

#pragma once

#include "cli/options/options.h"
#include "profiles/profile.h"

namespace cli {

struct Durations {
  double cost_s = 0;  // of each stage
  double rehearsal_s = 0;
  double flat_out_s = 0;
  double grown_flat_out_s = 0;  // of each full-speed run with sources added
  int grown_flat_outs = 0;      // of these, at most
  double disk_s = 0;            // of each folder; of all of them where the whole is bounded
  double contention_s = 0;
  double search_s = 0;         // of each rehearsal with sources added; 0: not searched
  double ballast_s = 0;        // all kinds of extra load together
  double costs_at_most_s = 0;  // of all stages together; 0: not bounded
  double painting_s = 0;       // of what the feeds show; 0: not bounded
  double whole_s = 0;          // when the last measurement must have ended; 0: not bounded
  double at_most_s = 0;        // what people are told: assessing and writing are in it
};

/// quick: two minutes at most on any PC at any raster, what does not fit is left out;
/// standard: about ten minutes; full: a rehearsal as long as the production.
Durations DurationsOf(Length length, const profiles::Profile& profile);

}  // namespace cli
