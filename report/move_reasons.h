// SPDX-License-Identifier: Apache-2.0
//
// Why a move plan is as it is: the fullest link, and what keeps it from being less full.

#pragma once

#include <string>
#include <vector>

#include "report/move_problem.h"

namespace report {

/// The link with the largest share in use; of equals the one nearest to the devices.
struct FullestLink {
  const UsbLink* link = nullptr;  // null: no capture loads any link
  double percent = 0;
  std::string label;
  bool controller = false;  // one of the equals is a controller
};
FullestLink FindFullest(const std::vector<UsbLink>& links);

std::vector<std::string> WhyNoMoves(const Facts& facts, const MachineProblem& posed,
                                    const MoveAnswer& answer, const FullestLink& now);
std::vector<std::string> WhyTheseMoves(const MachineProblem& posed, const MoveAnswer& answer,
                                       const FullestLink& then);

}  // namespace report
