// SPDX-License-Identifier: Apache-2.0
//
// What the cameras of a run will show, made once for several runs.

#pragma once

#include <vector>

#include "bench/feeds/feed_ring.h"

namespace bench {

class PreparedFeeds {
 public:
  std::vector<FeedRing> rings;  // one per source of the profile
};

}  // namespace bench
