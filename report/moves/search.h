// SPDX-License-Identifier: Apache-2.0
//
// The exact search behind the move plan: devices to groups of equal ports. Ways are compared by
// their fullest link, where that is equal by the next, and so on.

#pragma once

#include <compare>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

namespace report {

/// Shares are in parts of a thousand million of what a link carries.
inline constexpr std::int64_t kWholeShare = 1'000'000'000;

/// Below the fullest link, differences of less than a twentieth of a link are not worth a plug:
/// shares there count rounded up to so much, give or take the rounding of sums.
inline constexpr std::int64_t kShareStep = kWholeShare / 20;
std::int64_t InSteps(std::int64_t share);

/// What devices put on a link, each in shares of what it carries.
struct Shares {
  std::int64_t bytes = 0;
  std::int64_t certain = 0;  // of these, not assumed
  std::int64_t least = 0;    // of the time that may be reserved: held for certain
  std::int64_t most = 0;     // and held at most

  Shares& operator+=(const Shares& other) {
    bytes += other.bytes;
    certain += other.certain;
    least += other.least;
    most += other.most;
    return *this;
  }
  Shares& operator-=(const Shares& other) {
    bytes -= other.bytes;
    certain -= other.certain;
    least -= other.least;
    most -= other.most;
    return *this;
  }
  bool Any() const { return bytes > 0 || most > 0; }
  /// Share in use: of bytes; of time only where more than all is reserved. Where only the most, or
  /// what is assumed, is more than all, the link counts as full.
  std::int64_t InUse() const;
};

/// What decides between ways that are equally good: hubs on the way of each device, and links that
/// it shares with a disk.
struct Burden {
  int hubs = 0;
  int disks = 0;

  auto operator<=>(const Burden&) const = default;
  Burden& operator+=(const Burden& other) {
    hubs += other.hubs;
    disks += other.disks;
    return *this;
  }
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
  Burden burden = {};
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

/// Share in use of every link, fullest first: of each device's own cable, and of shared links. One
/// that a single device loads says nothing that its cable does not, and counts as empty. All but
/// the first in steps.
std::vector<std::int64_t> SharesInUse(const MoveProblem& problem, const std::vector<int>& groups);
/// Sum over all devices.
Burden BurdenOf(const MoveProblem& problem, const std::vector<int>& groups);

/// Looks at a device in a group, far more than any PC asks for; a stranger's tree may claim
/// hundreds of devices.
inline constexpr std::size_t kMostLooks = 200'000'000;

/// Lowest shares, compared fullest first; of such answers one with the fewest moves, of these one
/// with the least burden, of these the first in a fixed order: staying, then groups as they are
/// numbered, device by device. Once `most_looks` are taken, the lowest that were met until then.
MoveAnswer SearchMoves(const MoveProblem& problem, std::size_t most_looks = kMostLooks);

}  // namespace report
