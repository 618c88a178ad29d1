// SPDX-License-Identifier: Apache-2.0
//
// Branch and bound: the lowest fullest share, then the lowest next one with that, and so on; then
// the fewest moves that reach them, and of these the least burden.

#include "report/moves/search.h"

#include <algorithm>
#include <cstddef>
#include <map>
#include <numeric>
#include <utility>

#include "report/moves/walk.h"

namespace report {
namespace {

std::vector<std::size_t> InOrder(const MoveProblem& problem) {
  std::vector<std::size_t> order(problem.now.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  return order;
}

/// One pass for each rank: the shares of the ranks before are as low as they can be, and this one
/// becomes so.
class LowestOfRank : public MoveWalk {
 public:
  LowestOfRank(const MoveProblem& problem, std::vector<std::size_t> order,
               const std::vector<int>& chosen, std::size_t rank, Looks& looks)
      : MoveWalk(problem, std::move(order), SharesInUse(problem, chosen), looks),
        rank_(rank),
        groups_(chosen),
        chosen_(chosen) {
    Lower(most_[rank_]);
  }

  /// A way with the lowest share of that rank that was met.
  std::vector<int> Find() {
    if (most_[rank_] >= 0) {
      Descend(0);
    }
    return chosen_;
  }

 private:
  struct Choice {
    std::int64_t share = 0;
    std::size_t group = 0;
    bool operator<(const Choice& other) const { return share < other.share; }
  };

  // From here on that rank has to stay below, and so have all after it.
  void Lower(std::int64_t share) {
    most_[rank_] = share - 1;
    std::fill(most_.begin() + static_cast<std::ptrdiff_t>(rank_) + 1, most_.end(),
              rank_ == 0 ? InSteps(share - 1) : share - kShareStep);
  }

  void Descend(std::size_t depth) {
    const bool all = depth == Devices();
    if ((!all && !Step(depth)) || !Hopeful(depth)) {
      return;
    }
    if (all) {
      chosen_ = groups_;
      Lower(board_.AtLeast()[rank_]);
      return;
    }
    if (!Fresh(depth)) {
      return;
    }
    const std::size_t device = order_[depth];
    std::vector<Choice> choices;
    for (std::size_t group = 0; group < problem_.places.size(); ++group) {
      const auto share = board_.With(device, group);
      if (share && !Needless(depth, group)) {
        choices.push_back({*share, group});
      }
    }
    std::stable_sort(choices.begin(), choices.end());
    for (const Choice& choice : choices) {
      if (choice.share > most_.front()) {
        return;  // best first: the rest is no better
      }
      board_.Place(device, choice.group);
      groups_[device] = static_cast<int>(choice.group);
      Descend(depth + 1);
      board_.TakeBack(device, choice.group);
    }
  }

  std::size_t rank_;
  std::vector<int> groups_;
  std::vector<int> chosen_;
};

/// Last passes: ways to those shares with at most so many moves, of them the least burden.
class FewestMoves : public MoveWalk {
 public:
  FewestMoves(const MoveProblem& problem, std::vector<std::int64_t> most, int moves, Looks& looks)
      : MoveWalk(problem, InOrder(problem), std::move(most), looks),
        moves_(moves),
        groups_(Devices()) {
    for (std::size_t device = 0; device < Devices(); ++device) {
      least_.push_back(LeastBurden(device));
    }
  }

  bool Find() {
    Descend(0, 0, {});
    return !chosen_.empty();
  }
  const std::vector<int>& chosen() const { return chosen_; }

 private:
  Burden LeastBurden(std::size_t device) const {
    Burden least = problem_.options[device][Now(device)]->burden;
    for (const auto& option : problem_.options[device]) {
      least.hubs = option ? std::min(least.hubs, option->burden.hubs) : least.hubs;
      least.disks = option ? std::min(least.disks, option->burden.disks) : least.disks;
    }
    return least;
  }

  // Of the rest, those that cannot stay, each looked at by itself.
  int MustMove(std::size_t depth) {
    int must = 0;
    for (std::size_t i = depth; i < Devices(); ++i) {
      must += Fits(order_[i], Now(order_[i])) ? 0 : 1;
    }
    return must;
  }

  // Whether this state was not reached before with as few moves and as little burden.
  bool Cheaper(std::size_t depth, int moved, const Burden& burden) {
    std::vector<std::int64_t> state = board_.State({static_cast<std::int64_t>(depth)});
    const auto found = reached_.find(state);
    if (found != reached_.end()) {
      Reached& before = found->second;
      if (before.moved <= moved && before.burden.hubs <= burden.hubs &&
          before.burden.disks <= burden.disks) {
        return false;
      }
      before = {moved, burden};
    } else if (reached_.size() * state.size() < kMostRemembered) {
      reached_.emplace(std::move(state), Reached{moved, burden});
    }
    return true;
  }

  bool NoBetter(std::size_t depth, Burden burden) const {
    for (std::size_t i = depth; i < Devices(); ++i) {
      burden += least_[i];
    }
    return !chosen_.empty() && burden >= burden_;
  }

  void Descend(std::size_t depth, int moved, const Burden& burden) {
    const bool all = depth == Devices();
    if ((!all && !Step(depth)) || moved + MustMove(depth) > moves_ || NoBetter(depth, burden) ||
        !Hopeful(depth)) {
      return;
    }
    if (all) {
      chosen_ = groups_;
      burden_ = burden;
      return;
    }
    if (!Cheaper(depth, moved, burden)) {
      return;
    }
    const std::size_t device = order_[depth];
    Try(depth, Now(device), moved, burden);
    for (std::size_t group = 0; moved < moves_ && group < problem_.places.size(); ++group) {
      if (group != Now(device) && problem_.options[device][group] && !Needless(depth, group)) {
        Try(depth, group, moved + 1, burden);
      }
    }
  }

  void Try(std::size_t depth, std::size_t group, int moved, Burden burden) {
    const std::size_t device = order_[depth];
    const auto share = board_.With(device, group);
    if (!share || *share > most_.front()) {
      return;
    }
    board_.Place(device, group);
    groups_[device] = static_cast<int>(group);
    burden += problem_.options[device][group]->burden;
    Descend(depth + 1, moved, burden);
    board_.TakeBack(device, group);
  }

  struct Reached {
    int moved = 0;
    Burden burden;
  };

  int moves_;
  std::map<std::vector<std::int64_t>, Reached> reached_;
  std::vector<int> groups_;
  std::vector<Burden> least_;
  std::vector<int> chosen_;
  Burden burden_;
};

// Heaviest devices first: they decide most.
std::vector<std::size_t> HeaviestFirst(const MoveProblem& problem) {
  std::vector<std::size_t> order = InOrder(problem);
  const auto weight = [&](std::size_t device) {
    const auto& here = problem.options[device][static_cast<std::size_t>(problem.now[device])];
    std::int64_t most = here->own.bytes;
    for (const LinkShare& share : here->shared) {
      most = std::max(most, share.part.bytes);
    }
    return most;
  };
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return weight(a) > weight(b); });
  return order;
}

}  // namespace

std::int64_t Shares::InUse() const {
  const std::int64_t carried = certain > kWholeShare ? certain : std::min(bytes, kWholeShare);
  if (least > kWholeShare) {
    return std::max(carried, least);
  }
  return most > kWholeShare ? std::max(carried, kWholeShare) : carried;
}

MoveAnswer SearchMoves(const MoveProblem& problem, std::size_t most_looks) {
  Looks looks(most_looks);
  const std::vector<std::size_t> order = HeaviestFirst(problem);
  const std::vector<std::int64_t> now = SharesInUse(problem, problem.now);
  std::vector<int> chosen = problem.now;
  // Of ranks with equal shares the last is tried first: where it cannot be lower, none of them can.
  std::size_t settled = 0;
  while (settled < now.size() && !looks.spent()) {
    const std::vector<std::int64_t> shares = SharesInUse(problem, chosen);
    std::size_t rank = settled;
    while (rank > 0 && rank + 1 < shares.size() && shares[rank + 1] == shares[rank]) {
      ++rank;
    }
    chosen = LowestOfRank(problem, order, chosen, rank, looks).Find();
    settled = SharesInUse(problem, chosen) == shares ? rank + 1 : settled;
  }
  const std::vector<std::int64_t> best = SharesInUse(problem, chosen);
  const int most_moves = best < now ? static_cast<int>(problem.now.size()) : 0;
  for (int moves = 1; moves <= most_moves && !looks.spent(); ++moves) {
    FewestMoves fewest(problem, best, moves, looks);
    if (fewest.Find()) {
      return {fewest.chosen(), !looks.spent()};
    }
  }
  return {chosen, !looks.spent()};
}

}  // namespace report
