// SPDX-License-Identifier: Apache-2.0
//
// All devices of a line-check at once, one thread each; a driver that hangs is left behind.

#pragma once

#include <functional>
#include <memory>
#include <stop_token>
#include <string>
#include <vector>

#include "base/clock.h"
#include "probes/data/line_check.h"
#include "probes/line/v4l2_port.h"
#include "probes/line/v4l2_run.h"

namespace probes {

struct LineRequest {
  std::vector<LineDevice> devices;  // source, node and asked mode filled in
  double seconds = 20;
  LineLimits limits;
};

/// How far a run is, for a progress line.
struct LineProgress {
  bool all_begun = false;
  std::int64_t lost = 0;  // by the drivers' numbers, all devices
};

struct LineRun {
  std::vector<LineDevice> devices;  // in the order of the request
  double seconds = 0;               // that all ran together
  bool interrupted = false;
};

using PortMaker = std::function<std::unique_ptr<VideoPort>(const std::string& node)>;

/// Runs every device to its end. A stop ends it within `end_on_stop_ns` and
/// keeps what was counted. `clock` must live as long as the program: a thread that
/// hangs in a driver keeps it.
LineRun RunLine(const LineRequest& request, const PortMaker& make_port, const base::Clock& clock,
                const std::stop_token& stop, const std::function<void(const LineProgress&)>& tell);

}  // namespace probes
