// SPDX-License-Identifier: Apache-2.0
//
// The exact search behind the move plan: devices to groups of equal ports, best worst link first.

#pragma once

#include <cstdint>
#include <optional>
#include <vector>

namespace report {

/// Shares are in parts of a thousand million of what a link carries.
inline constexpr std::int64_t kWholeShare = 1'000'000'000;

/// What one device puts on one link.
struct LinkShare {
  int link = 0;
  std::int64_t bytes = 0;     // share of the bytes that it carries
  std::int64_t reserved = 0;  // share of the time that may be reserved on it
};

/// One device at one group of ports.
struct MoveOption {
  std::vector<LinkShare> shared;  // links that others may load too, each once
  LinkShare own;                  // its own cable; `link` means nothing
};

/// Ports of a group are alike: the same links lead to each.
struct MoveProblem {
  int links = 0;            // shared ones, numbered from 0
  std::vector<int> places;  // of each group: free ports, and those that movable devices hold
  std::vector<int> top;     // of each group: the shared link that its controller is; -1: none
  std::vector<int> now;     // of each device: its group; every group holds its own
  /// [device][group]; nothing: the device cannot be there.
  std::vector<std::vector<std::optional<MoveOption>>> options;
};

struct MoveAnswer {
  std::vector<int> group;  // of each device
  std::int64_t worst = 0;  // share in use of the worst link
  int moves = 0;           // devices that change their group
  bool exact = true;       // false: the search was cut short
};

/// Share in use: of bytes; of time only where more than all is reserved.
std::int64_t ShareInUse(std::int64_t bytes, std::int64_t reserved);

/// Share in use of the worst link, own cables included.
std::int64_t WorstShare(const MoveProblem& problem, const std::vector<int>& groups);

/// Lowest worst share; of such answers one with the fewest moves; of these the
/// first in a fixed order: staying, then groups as they are numbered, device by device.
MoveAnswer SearchMoves(const MoveProblem& problem);

}  // namespace report
