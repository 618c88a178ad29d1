// SPDX-License-Identifier: Apache-2.0
//
// Pruning.

#include "report/moves/walk.h"

#include <algorithm>
#include <functional>
#include <limits>

namespace report {
namespace {

bool NoMore(const Shares& a, const Shares& b) {
  return a.bytes <= b.bytes && a.certain <= b.certain && a.least <= b.least && a.most <= b.most;
}

/// Whether everything that `a` puts on links, `b` puts there too, and `a` is no greater burden.
bool NoWorse(const MoveOption& a, const MoveOption& b) {
  return NoMore(a.own, b.own) && a.burden.hubs <= b.burden.hubs &&
         a.burden.disks <= b.burden.disks &&
         std::all_of(a.shared.begin(), a.shared.end(), [&](const LinkShare& one) {
           return std::any_of(b.shared.begin(), b.shared.end(), [&](const LinkShare& other) {
             return other.link == one.link && NoMore(one.part, other.part);
           });
         });
}

/// Each share at most that of the same rank.
bool Within(const std::vector<std::int64_t>& shares, const std::vector<std::int64_t>& most) {
  return std::equal(shares.begin(), shares.end(), most.begin(), std::less_equal<>());
}

}  // namespace

bool MoveWalk::Step(std::size_t depth) {
  constexpr std::size_t kSharesInALook = 8;
  const std::size_t shares = Devices() + static_cast<std::size_t>(problem_.links);
  return looks_.Take(Left(depth) * problem_.places.size() * shares / kSharesInALook);
}

bool MoveWalk::Fresh(std::size_t depth) {
  std::vector<std::int64_t> state = board_.State({static_cast<std::int64_t>(depth)});
  if (seen_.size() * state.size() >= kMostRemembered) {
    return seen_.count(state) == 0;
  }
  return seen_.insert(std::move(state)).second;
}

bool MoveWalk::Needless(std::size_t depth, std::size_t group) const {
  const std::size_t device = order_[depth];
  const auto& option = problem_.options[device][group];
  for (std::size_t other = 0; other < problem_.places.size(); ++other) {
    const auto& better = problem_.options[device][other];
    if (other == group || !better || board_.places(other) < static_cast<int>(Left(depth))) {
      continue;
    }
    const bool alike = NoWorse(*better, *option) && NoWorse(*option, *better);
    if (NoWorse(*better, *option) && (!alike || other < group)) {
      return true;
    }
  }
  return false;
}

bool MoveWalk::Fits(std::size_t device, std::size_t group) {
  const auto share = board_.With(device, group);
  if (!share || *share > most_.front()) {
    return false;
  }
  board_.Place(device, group);
  const bool fits = Within(board_.AtLeast(), most_);
  board_.TakeBack(device, group);
  return fits;
}

bool MoveWalk::Hopeful(std::size_t depth) {
  if (!Within(board_.AtLeast(), most_)) {
    return false;
  }
  for (std::size_t i = depth; i < Devices(); ++i) {
    bool fits = false;
    for (std::size_t group = 0; group < problem_.places.size() && !fits; ++group) {
      fits = Fits(order_[i], group);
    }
    if (!fits) {
      return false;
    }
  }
  return RoomOnControllers(depth, most_.front());
}

// Counts how many of the lightest of the rest each controller could still take.
bool MoveWalk::RoomOnControllers(std::size_t depth, std::int64_t limit) const {
  if (depth >= Devices() || std::count(problem_.top.begin(), problem_.top.end(), -1) > 0) {
    return true;
  }
  std::set<int> tops(problem_.top.begin(), problem_.top.end());
  std::int64_t room = 0;
  for (const int top : tops) {
    const std::int64_t lightest = Lightest(depth, top);
    if (lightest <= 0) {
      return true;
    }
    if (lightest < std::numeric_limits<std::int64_t>::max()) {
      room += std::max<std::int64_t>(0, limit - board_.certain(top)) / lightest;
    }
  }
  return room >= static_cast<std::int64_t>(Left(depth));
}

// What is assumed leaves a link full at most, and so takes no room for certain.
std::int64_t MoveWalk::Lightest(std::size_t depth, int top) const {
  std::int64_t lightest = std::numeric_limits<std::int64_t>::max();
  for (std::size_t i = depth; i < Devices(); ++i) {
    for (std::size_t group = 0; group < problem_.places.size(); ++group) {
      const auto& option = problem_.options[order_[i]][group];
      if (!option || problem_.top[group] != top) {
        continue;
      }
      for (const LinkShare& share : option->shared) {
        lightest = share.link == top ? std::min(lightest, share.part.certain) : lightest;
      }
    }
  }
  return lightest;
}

}  // namespace report
