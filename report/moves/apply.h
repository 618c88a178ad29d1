// SPDX-License-Identifier: Apache-2.0
//
// The machine as it would be after the moves of a plan.

#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "report/moves/problem.h"

namespace report {

/// One device's new place.
struct Placement {
  std::size_t candidate = 0;
  std::size_t socket = 0;
  double speed_mbps = 0;
};

/// A capture's path below a hub: "4-1" on a root hub, "2-1.3" on another.
std::string PathBelow(const probes::UsbDevice& hub, int port);

/// The evidence without its series, and the facts about it with the plugs moved.
class MovedMachine {
 public:
  MovedMachine(const Facts& before, const MachineProblem& posed,
               const std::vector<Placement>& placements);

  const Facts& facts() const { return *facts_; }
  /// The device's path then; `path` itself for what stays.
  std::string Renamed(const std::string& path) const;

 private:
  void MoveDevice(const Facts& before, const MachineProblem& posed, const Placement& placement);
  void CarryStreams(const Facts& before, const MachineProblem& posed,
                    const std::vector<Placement>& placements);

  std::unique_ptr<Evidence> evidence_;
  std::unique_ptr<Facts> facts_;
  std::map<std::string, std::string> new_paths_;
};

}  // namespace report
