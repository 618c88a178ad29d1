// SPDX-License-Identifier: Apache-2.0

#include "cli/options/durations.h"

namespace cli {

Durations DurationsOf(Length length, const profiles::Profile& profile) {
  Durations durations;
  durations.cost_s = 1;
  durations.flat_out_s = 40;
  durations.grown_flat_out_s = 12;
  durations.grown_flat_outs = 3;  // the first one is near, the next ones have the boundary between
  durations.disk_s = 60;
  durations.contention_s = 20;
  durations.search_s = 30;
  durations.ballast_s = 180;
  switch (length) {
    case Length::kQuick:
      durations.cost_s = 0.5;
      durations.rehearsal_s = 32;
      durations.flat_out_s = 8;
      durations.grown_flat_out_s = 5;
      durations.grown_flat_outs = 2;
      durations.disk_s = 8;
      durations.contention_s = 5;
      durations.search_s = 0;
      durations.ballast_s = 15;
      durations.costs_at_most_s = 20;
      durations.painting_s = 12;
      durations.whole_s = 110;
      durations.at_most_s = 120;
      break;
    case Length::kStandard:
      durations.rehearsal_s = 330;
      break;
    case Length::kFull:
      durations.rehearsal_s = 60.0 * profile.duration_minutes;
      durations.flat_out_s = 60;
      break;
  }
  return durations;
}

}  // namespace cli
