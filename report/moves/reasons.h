// SPDX-License-Identifier: Apache-2.0
//
// Why a move plan is as it is: the fullest link, and what keeps it from being less full.

#pragma once

#include <string>
#include <vector>

#include "report/moves/problem.h"

namespace report {

/// The link with the largest share in use; of equals the one nearest to the devices.
struct FullestLink {
  const UsbLink* link = nullptr;  // null: no capture loads any link
  double percent = 0;
  std::string label;
  bool controller = false;  // one of the equals is a controller
};
FullestLink FindFullest(const std::vector<UsbLink>& links);

/// A link that counts when ways are compared, and its share in use.
struct RankedLink {
  const UsbLink* link = nullptr;
  double percent = 0;
};
/// Fullest first: cables of captures, and links that two or more of them load. One that a single
/// capture loads says nothing that its cable does not.
std::vector<RankedLink> RankLinks(const std::vector<UsbLink>& links);

/// Where the fullest link is as full as before: the first of the shared ones that is less full
/// then. Empty where the fullest is, or none.
std::string ReliefText(const std::vector<UsbLink>& before, const std::vector<UsbLink>& then);

std::vector<std::string> WhyNoMoves(const Facts& facts, const MachineProblem& posed,
                                    const MoveAnswer& answer, const FullestLink& now);
std::vector<std::string> WhyTheseMoves(const MachineProblem& posed, const MoveAnswer& answer,
                                       const FullestLink& then);

}  // namespace report
