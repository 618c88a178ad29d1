// SPDX-License-Identifier: Apache-2.0
//
// Pictures that a run lost after its warm-up, each counted once.

#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>

#include "bench/data/results.h"

namespace bench {

/// Frames that `output` dropped, warm-up left out.
inline std::int64_t JudgedDrops(const OutputLedger& output) {
  return std::max<std::int64_t>(0, output.dropped - output.warm_up_dropped);
}

/// Frames that a feed lost at capture in one second and that no output's account
/// has already: an iso of the same source lacks the same picture.
inline std::int64_t FeedDropsAlone(const Rehearsal& rehearsal, const FeedLedger& feed,
                                   std::size_t second) {
  std::int64_t told = 0;
  for (const OutputLedger& output : rehearsal.outputs) {
    if (output.takes == feed.name && second < output.seconds.size()) {
      told = std::max(told, output.seconds[second].dropped);
    }
  }
  return second < feed.seconds.size()
             ? std::max<std::int64_t>(0, feed.seconds[second].dropped - told)
             : 0;
}

/// The same of the whole run, warm-up left out.
inline std::int64_t FeedDropsAlone(const Rehearsal& rehearsal, const FeedLedger& feed) {
  if (feed.seconds.empty()) {
    return feed.dropped;
  }
  std::int64_t alone = 0;
  for (std::size_t second = 0; second < feed.seconds.size(); ++second) {
    if (static_cast<double>(second) < rehearsal.warm_up_seconds) {
      continue;
    }
    alone += FeedDropsAlone(rehearsal, feed, second);
  }
  return alone;
}

/// Of all outputs and feeds.
inline std::int64_t LostPictures(const Rehearsal& rehearsal) {
  std::int64_t lost = 0;
  for (const OutputLedger& output : rehearsal.outputs) {
    lost += JudgedDrops(output);
  }
  for (const FeedLedger& feed : rehearsal.feeds) {
    lost += FeedDropsAlone(rehearsal, feed);
  }
  return lost;
}

}  // namespace bench
