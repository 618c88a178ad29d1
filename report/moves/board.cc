// SPDX-License-Identifier: Apache-2.0
//
// Loads, places and the lowest shares that they lead to.

#include "report/moves/board.h"

#include <algorithm>
#include <functional>
#include <limits>

namespace report {

MoveBoard::MoveBoard(const MoveProblem& problem)
    : problem_(problem), links_(static_cast<std::size_t>(problem.links)), places_(problem.places) {
  for (const auto& row : problem.options) {
    std::int64_t lowest = std::numeric_limits<std::int64_t>::max();
    for (const auto& option : row) {
      lowest = option ? std::min(lowest, option->own.InUse()) : lowest;
    }
    lowest_.push_back(lowest == std::numeric_limits<std::int64_t>::max() ? 0 : lowest);
  }
  cables_ = lowest_;
}

std::optional<std::int64_t> MoveBoard::With(std::size_t device, std::size_t group) const {
  const auto& option = problem_.options[device][group];
  if (!option || places_[group] <= 0) {
    return std::nullopt;
  }
  std::int64_t most = option->own.InUse();
  for (const LinkShare& share : option->shared) {
    Shares sum = links_[static_cast<std::size_t>(share.link)].load;
    sum += share.part;
    most = std::max(most, sum.InUse());
  }
  return most;
}

void MoveBoard::Place(std::size_t device, std::size_t group) {
  Change(device, group, 1);
  cables_[device] = problem_.options[device][group]->own.InUse();
}

void MoveBoard::TakeBack(std::size_t device, std::size_t group) {
  Change(device, group, -1);
  cables_[device] = lowest_[device];
}

void MoveBoard::Change(std::size_t device, std::size_t group, int sign) {
  const MoveOption& option = *problem_.options[device][group];
  places_[group] -= sign;
  for (const LinkShare& share : option.shared) {
    Link& link = links_[static_cast<std::size_t>(share.link)];
    if (!share.part.Any()) {
      continue;
    }
    link.devices += sign;
    link.own += sign * option.own.InUse();
    if (sign > 0) {
      link.load += share.part;
    } else {
      link.load -= share.part;
    }
  }
}

std::vector<std::int64_t> MoveBoard::AtLeast() const {
  std::vector<std::int64_t> shares = cables_;
  shares.reserve(cables_.size() + links_.size());
  for (const Link& link : links_) {
    const std::int64_t used = link.load.InUse();
    shares.push_back(link.devices > 1 || used > link.own ? used : 0);
  }
  std::sort(shares.begin(), shares.end(), std::greater<>());
  for (std::size_t rank = 1; rank < shares.size(); ++rank) {
    shares[rank] = InSteps(shares[rank]);
  }
  return shares;
}

std::vector<std::int64_t> MoveBoard::State(std::vector<std::int64_t> first) const {
  for (const Link& link : links_) {
    first.insert(first.end(), {link.load.bytes, link.load.certain, link.load.least, link.load.most,
                               link.devices, link.own});
  }
  first.insert(first.end(), places_.begin(), places_.end());
  std::vector<std::int64_t> cables = cables_;
  std::sort(cables.begin(), cables.end());
  first.insert(first.end(), cables.begin(), cables.end());
  return first;
}

std::int64_t InSteps(std::int64_t share) {
  constexpr std::int64_t kRounding = 1000;
  return (std::max<std::int64_t>(0, share - kRounding) + kShareStep - 1) / kShareStep * kShareStep;
}

std::vector<std::int64_t> SharesInUse(const MoveProblem& problem, const std::vector<int>& groups) {
  MoveBoard board(problem);
  for (std::size_t device = 0; device < groups.size(); ++device) {
    board.Place(device, static_cast<std::size_t>(groups[device]));
  }
  return board.AtLeast();
}

Burden BurdenOf(const MoveProblem& problem, const std::vector<int>& groups) {
  Burden burden;
  for (std::size_t device = 0; device < groups.size(); ++device) {
    burden += problem.options[device][static_cast<std::size_t>(groups[device])]->burden;
  }
  return burden;
}

}  // namespace report
