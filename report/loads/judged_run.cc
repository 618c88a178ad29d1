// SPDX-License-Identifier: Apache-2.0
//
// Sums of the judged part of a rehearsal.

#include "report/loads/judged_run.h"

#include <algorithm>
#include <cstddef>

#include "base/stats/drop_bound.h"
#include "bench/data/lost_pictures.h"

namespace report {
namespace {

/// Frames of a camera that fell due after the warm-up.
std::int64_t JudgedDue(const bench::Rehearsal& rehearsal, const bench::FeedLedger& feed) {
  if (feed.seconds.empty()) {
    return feed.due;
  }
  std::int64_t due = 0;
  for (std::size_t second = 0; second < feed.seconds.size(); ++second) {
    due += static_cast<double>(second) < rehearsal.warm_up_seconds ? 0 : feed.seconds[second].due;
  }
  return due;
}

}  // namespace

std::optional<JudgedRun> JudgeRun(const bench::Results& results, const profiles::Margins& margins) {
  if (!results.rehearsal) {
    return std::nullopt;
  }
  const bench::Rehearsal& rehearsal = *results.rehearsal;
  JudgedRun run;
  run.hours = std::max(0.0, rehearsal.seconds - rehearsal.warm_up_seconds) / 3600;
  for (const bench::OutputLedger& output : rehearsal.outputs) {
    run.due += output.due;
    run.late += output.late;
    run.output_dropped += bench::JudgedDrops(output);
  }
  for (const bench::FeedLedger& feed : rehearsal.feeds) {
    run.feed_dropped += bench::FeedDropsAlone(rehearsal, feed);
    run.feed_due += JudgedDue(rehearsal, feed);
  }
  run.upper_per_hour = rehearsal.drops_per_hour_upper_95 > 0
                           ? rehearsal.drops_per_hour_upper_95
                           : base::DropsPerHourUpper95(run.Dropped(), run.hours * 3600);
  run.allowed = margins.allowed_drops_per_hour * run.hours;
  return run;
}

}  // namespace report
