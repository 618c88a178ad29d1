// SPDX-License-Identifier: Apache-2.0
//
// The watch as it runs in its own small program: see commands/watch.cc.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "cli/metrics_address.h"

namespace cli {

struct WatchArguments {
  std::string into;
  std::string program;  // empty: the busiest
  double hz = 10;
  std::int64_t most_bytes = 0;
  double seconds = 0;  // 0: until a signal
  std::optional<MetricsAddress> metrics;
  bool json = false;
  bool quiet = false;
  std::string version;
};

/// As `rigproof watch` hands them on: every one, in this order.
std::vector<std::string> ToTexts(const WatchArguments& arguments);
base::Result<WatchArguments> FromTexts(const std::vector<std::string>& texts);

/// Until its time is over or a signal comes. 0: ended as asked, 1: the log could not be written.
base::Result<int> Watch(const WatchArguments& arguments);

}  // namespace cli
