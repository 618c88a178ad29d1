// SPDX-License-Identifier: Apache-2.0
//
// The exact search behind the move plan: devices to groups of equal ports, best worst link first.

#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

namespace report {

/// Shares are in parts of a thousand million of what a link carries.
inline constexpr std::int64_t kWholeShare = 1'000'000'000;

/// What devices put on a link, each in shares of what it carries.
struct Shares {
  std::int64_t bytes = 0;
  std::int64_t least = 0;  // of the time that may be reserved: held for certain
  std::int64_t most = 0;   // and held at most

  Shares& operator+=(const Shares& other) {
    bytes += other.bytes;
    least += other.least;
    most += other.most;
    return *this;
  }
  /// Share in use: of bytes; of time only where more than all is reserved. Where only the most is
  /// more than all, the link counts as full.
  std::int64_t InUse() const;
};

/// What one device puts on one link.
struct LinkShare {
  int link = 0;
  Shares part;
};

/// One device at one group of ports.
struct MoveOption {
  std::vector<LinkShare> shared;  // links that others may load too, each once
  Shares own;                     // of its own cable
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
  bool exact = true;       // false: the search was cut short
};

/// Share in use of the worst link, own cables included.
std::int64_t WorstShare(const MoveProblem& problem, const std::vector<int>& groups);

/// Looks at a device in a group, far more than any PC asks for; a stranger's tree may claim
/// hundreds of devices.
inline constexpr std::size_t kMostLooks = 60'000'000;

/// Lowest worst share; of such answers one with the fewest moves; of these the
/// first in a fixed order: staying, then groups as they are numbered, device by device.
/// Once `most_looks` are taken, the lowest worst share that was met until then.
MoveAnswer SearchMoves(const MoveProblem& problem, std::size_t most_looks = kMostLooks);

}  // namespace report
