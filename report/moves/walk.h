// SPDX-License-Identifier: Apache-2.0
//
// What all passes of the search for moves share: the tree that they walk, and what they need not
// look at.

#pragma once

#include <cstddef>
#include <cstdint>
#include <set>
#include <utility>
#include <vector>

#include "report/moves/board.h"
#include "report/moves/search.h"

namespace report {

inline constexpr std::size_t kMostRemembered = 4'000'000;  // numbers, by one pass

/// Looks that may be taken, by all passes together.
class Looks {
 public:
  explicit Looks(std::size_t most) : left_(most) {}

  bool spent() const { return spent_; }
  /// False once there are not enough left.
  bool Take(std::size_t looks) {
    spent_ = spent_ || looks > left_;
    left_ -= spent_ ? 0 : looks;
    return !spent_;
  }

 private:
  std::size_t left_;
  bool spent_ = false;
};

/// All passes walk the same tree: device after device in `order`, each to a group. `most_` is what
/// the shares in use may be at most, fullest first.
class MoveWalk {
 public:
  MoveWalk(const MoveProblem& problem, std::vector<std::size_t> order,
           std::vector<std::int64_t> most, Looks& looks)
      : problem_(problem),
        board_(problem),
        order_(std::move(order)),
        most_(std::move(most)),
        looks_(looks) {}

 protected:
  std::size_t Devices() const { return order_.size(); }
  std::size_t Left(std::size_t depth) const { return order_.size() - depth; }
  std::size_t Now(std::size_t device) const {
    return static_cast<std::size_t>(problem_.now[device]);
  }

  bool Step(std::size_t depth);
  /// False when this state was looked at before.
  bool Fresh(std::size_t depth);
  /// A group that makes another needless: as good for this device, and with
  /// room for all that are left, so that taking it costs nobody a place.
  bool Needless(std::size_t depth, std::size_t group) const;
  /// Whether a device by itself finds its place in a group with every share at most what it may be.
  bool Fits(std::size_t device, std::size_t group);
  /// Whether what is placed leaves all shares within the most, each device that is left fits
  /// somewhere by itself, and all controllers together have room for them.
  bool Hopeful(std::size_t depth);

  const MoveProblem& problem_;
  MoveBoard board_;
  std::vector<std::size_t> order_;
  std::vector<std::int64_t> most_;

 private:
  bool RoomOnControllers(std::size_t depth, std::int64_t limit) const;
  std::int64_t Lightest(std::size_t depth, int top) const;

  Looks& looks_;
  std::set<std::vector<std::int64_t>> seen_;
};

}  // namespace report
