// SPDX-License-Identifier: Apache-2.0
//
// Branch and bound in two passes: the lowest worst share, then the fewest moves that reach it.

#include "report/move_search.h"

#include <algorithm>
#include <cstddef>
#include <limits>
#include <numeric>
#include <set>
#include <utility>

namespace report {
namespace {

constexpr std::size_t kMostRemembered = 4'000'000;  // numbers, by one pass

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

/// Devices placed so far, with the load that they make.
class Board {
 public:
  explicit Board(const MoveProblem& problem)
      : problem_(problem),
        loads_(static_cast<std::size_t>(problem.links)),
        places_(problem.places) {}

  /// Worst share among the links that the device would use, with it; nothing
  /// when it cannot be there.
  std::optional<std::int64_t> With(std::size_t device, std::size_t group) const {
    const auto& option = problem_.options[device][group];
    if (!option || places_[group] <= 0) {
      return std::nullopt;
    }
    std::int64_t worst = option->own.InUse();
    for (const LinkShare& share : option->shared) {
      Shares sum = loads_[static_cast<std::size_t>(share.link)];
      sum += share.part;
      worst = std::max(worst, sum.InUse());
    }
    return worst;
  }

  void Place(std::size_t device, std::size_t group) { Change(device, group, 1); }
  void TakeBack(std::size_t device, std::size_t group) { Change(device, group, -1); }

  int places(std::size_t group) const { return places_[group]; }
  std::int64_t bytes(int link) const { return loads_[static_cast<std::size_t>(link)].bytes; }

  /// What decides how the rest can go on, for remembering.
  std::vector<std::int64_t> State(std::int64_t first, std::int64_t second) const {
    std::vector<std::int64_t> state{first, second};
    for (const Shares& load : loads_) {
      state.insert(state.end(), {load.bytes, load.least, load.most});
    }
    state.insert(state.end(), places_.begin(), places_.end());
    return state;
  }

 private:
  void Change(std::size_t device, std::size_t group, int sign) {
    places_[group] -= sign;
    for (const LinkShare& share : problem_.options[device][group]->shared) {
      loads_[static_cast<std::size_t>(share.link)] +=
          {sign * share.part.bytes, sign * share.part.least, sign * share.part.most};
    }
  }

  const MoveProblem& problem_;
  std::vector<Shares> loads_;
  std::vector<int> places_;
};

bool NoMore(const Shares& a, const Shares& b) {
  return a.bytes <= b.bytes && a.least <= b.least && a.most <= b.most;
}

/// Whether everything that `a` puts on links, `b` puts there too.
bool NoWorse(const MoveOption& a, const MoveOption& b) {
  return NoMore(a.own, b.own) &&
         std::all_of(a.shared.begin(), a.shared.end(), [&](const LinkShare& one) {
           return std::any_of(b.shared.begin(), b.shared.end(), [&](const LinkShare& other) {
             return other.link == one.link && NoMore(one.part, other.part);
           });
         });
}

std::vector<std::size_t> InOrder(const MoveProblem& problem) {
  std::vector<std::size_t> order(problem.now.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  return order;
}

/// Both passes walk the same tree: device after device in `order`, each to a group.
class Search {
 public:
  Search(const MoveProblem& problem, std::vector<std::size_t> order, Looks& looks)
      : problem_(problem), board_(problem), order_(std::move(order)), looks_(looks) {}

 protected:
  std::size_t Devices() const { return order_.size(); }
  std::size_t Left(std::size_t depth) const { return order_.size() - depth; }
  std::size_t Now(std::size_t device) const {
    return static_cast<std::size_t>(problem_.now[device]);
  }

  bool Step(std::size_t depth) { return looks_.Take(Left(depth) * problem_.places.size()); }

  /// False when this state was looked at before.
  bool Fresh(std::int64_t first, std::int64_t second) {
    std::vector<std::int64_t> state = board_.State(first, second);
    if (seen_.size() * state.size() >= kMostRemembered) {
      return seen_.count(state) == 0;
    }
    return seen_.insert(std::move(state)).second;
  }

  /// A group that makes another needless: as good for this device, and with
  /// room for all that are left, so that taking it costs nobody a place.
  bool Needless(std::size_t depth, std::size_t group) const {
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

  /// Whether each device that is left finds some place by itself with every
  /// share at most `limit`, and all controllers together have room for them.
  bool Hopeful(std::size_t depth, std::int64_t limit) const {
    for (std::size_t i = depth; i < Devices(); ++i) {
      bool fits = false;
      for (std::size_t group = 0; group < problem_.places.size() && !fits; ++group) {
        const auto share = board_.With(order_[i], group);
        fits = share && *share <= limit;
      }
      if (!fits) {
        return false;
      }
    }
    return RoomOnControllers(depth, limit);
  }

  const MoveProblem& problem_;
  Board board_;
  std::vector<std::size_t> order_;

 private:
  // Counts how many of the lightest of the rest each controller could still take.
  bool RoomOnControllers(std::size_t depth, std::int64_t limit) const {
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
        room += std::max<std::int64_t>(0, limit - board_.bytes(top)) / lightest;
      }
    }
    return room >= static_cast<std::int64_t>(Left(depth));
  }

  std::int64_t Lightest(std::size_t depth, int top) const {
    std::int64_t lightest = std::numeric_limits<std::int64_t>::max();
    for (std::size_t i = depth; i < Devices(); ++i) {
      for (std::size_t group = 0; group < problem_.places.size(); ++group) {
        const auto& option = problem_.options[order_[i]][group];
        if (!option || problem_.top[group] != top) {
          continue;
        }
        for (const LinkShare& share : option->shared) {
          lightest = share.link == top ? std::min(lightest, share.part.bytes) : lightest;
        }
      }
    }
    return lightest;
  }

  Looks& looks_;
  std::set<std::vector<std::int64_t>> seen_;
};

/// First pass: the lowest worst share.
class LowestWorst : public Search {
 public:
  LowestWorst(const MoveProblem& problem, std::vector<std::size_t> order, Looks& looks)
      : Search(problem, std::move(order), looks),
        best_(WorstShare(problem, problem.now)),
        groups_(problem.now),
        chosen_(problem.now) {}

  std::int64_t Find() {
    Descend(0, 0);
    return best_;
  }
  /// A way to the lowest share that was met; staying where none is lower.
  const std::vector<int>& chosen() const { return chosen_; }

 private:
  struct Choice {
    std::int64_t share = 0;
    std::size_t group = 0;
    bool operator<(const Choice& other) const { return share < other.share; }
  };

  void Descend(std::size_t depth, std::int64_t worst) {
    if (depth == Devices()) {
      best_ = worst;  // only reached below best_
      chosen_ = groups_;
      return;
    }
    if (!Step(depth) || !Hopeful(depth, best_ - 1) ||
        !Fresh(static_cast<std::int64_t>(depth), worst)) {
      return;
    }
    const std::size_t device = order_[depth];
    std::vector<Choice> choices;
    for (std::size_t group = 0; group < problem_.places.size(); ++group) {
      const auto share = board_.With(device, group);
      if (share && !Needless(depth, group)) {
        choices.push_back({std::max(worst, *share), group});
      }
    }
    std::stable_sort(choices.begin(), choices.end());
    for (const Choice& choice : choices) {
      if (choice.share >= best_) {
        return;  // best first: the rest is no better
      }
      board_.Place(device, choice.group);
      groups_[device] = static_cast<int>(choice.group);
      Descend(depth + 1, choice.share);
      board_.TakeBack(device, choice.group);
    }
  }

  std::int64_t best_;
  std::vector<int> groups_;
  std::vector<int> chosen_;
};

/// Second pass: a way to that share with at most so many moves.
class FewestMoves : public Search {
 public:
  FewestMoves(const MoveProblem& problem, std::int64_t worst, int moves, Looks& looks)
      : Search(problem, InOrder(problem), looks),
        worst_(worst),
        moves_(moves),
        chosen_(Devices()) {}

  bool Find() { return Descend(0, 0); }
  const std::vector<int>& chosen() const { return chosen_; }

 private:
  bool Descend(std::size_t depth, int moved) {
    if (depth == Devices()) {
      return true;
    }
    if (!Step(depth) || !Hopeful(depth, worst_) ||
        !Fresh(static_cast<std::int64_t>(depth), moved)) {
      return false;
    }
    const std::size_t device = order_[depth];
    if (Try(depth, Now(device), moved)) {
      return true;
    }
    for (std::size_t group = 0; moved < moves_ && group < problem_.places.size(); ++group) {
      if (group != Now(device) && problem_.options[device][group] && !Needless(depth, group) &&
          Try(depth, group, moved + 1)) {
        return true;
      }
    }
    return false;
  }

  bool Try(std::size_t depth, std::size_t group, int moved) {
    const std::size_t device = order_[depth];
    const auto share = board_.With(device, group);
    if (!share || *share > worst_) {
      return false;
    }
    board_.Place(device, group);
    chosen_[device] = static_cast<int>(group);
    const bool found = Descend(depth + 1, moved);
    board_.TakeBack(device, group);
    return found;
  }

  std::int64_t worst_;
  int moves_;
  std::vector<int> chosen_;
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
  if (least > kWholeShare) {
    return std::max(bytes, least);
  }
  return most > kWholeShare ? std::max(bytes, kWholeShare) : bytes;
}

std::int64_t WorstShare(const MoveProblem& problem, const std::vector<int>& groups) {
  std::vector<Shares> loads(static_cast<std::size_t>(problem.links));
  std::int64_t worst = 0;
  for (std::size_t device = 0; device < groups.size(); ++device) {
    const auto& option = problem.options[device][static_cast<std::size_t>(groups[device])];
    worst = std::max(worst, option->own.InUse());
    for (const LinkShare& share : option->shared) {
      loads[static_cast<std::size_t>(share.link)] += share.part;
    }
  }
  for (const Shares& load : loads) {
    worst = std::max(worst, load.InUse());
  }
  return worst;
}

MoveAnswer SearchMoves(const MoveProblem& problem, std::size_t most_looks) {
  Looks looks(most_looks);
  LowestWorst lowest(problem, HeaviestFirst(problem), looks);
  const std::int64_t best = lowest.Find();
  const int most_moves =
      best < WorstShare(problem, problem.now) ? static_cast<int>(problem.now.size()) : 0;
  for (int moves = 1; moves <= most_moves && !looks.spent(); ++moves) {
    FewestMoves fewest(problem, best, moves, looks);
    if (fewest.Find()) {
      return {fewest.chosen(), true};
    }
  }
  return {lowest.chosen(), !looks.spent()};
}

}  // namespace report
