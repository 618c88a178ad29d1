// SPDX-License-Identifier: Apache-2.0
//
// The watch of a production, as a command line asks for it.

#pragma once

#include <cstdint>
#include <optional>
#include <string>

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

/// Until its time is over or a signal comes. 0: ended as asked, 1: the log could not be written.
base::Result<int> Watch(const WatchArguments& arguments);

}  // namespace cli
