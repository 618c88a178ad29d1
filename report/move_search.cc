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

// Far more than any PC asks for; a stranger's tree may claim hundreds of devices. Counted are looks
// at a device in a group, and numbers remembered.
constexpr std::size_t kMostLooks = 60'000'000;
constexpr std::size_t kMostRemembered = 4'000'000;

/// Devices placed so far, with the load that they make.
class Board {
 public:
  explicit Board(const MoveProblem& problem)
      : problem_(problem),
        bytes_(static_cast<std::size_t>(problem.links)),
        reserved_(static_cast<std::size_t>(problem.links)),
        places_(problem.places) {}

  /// Worst share among the links that the device would use, with it; nothing
  /// when it cannot be there.
  std::optional<std::int64_t> With(std::size_t device, std::size_t group) const {
    const auto& option = problem_.options[device][group];
    if (!option || places_[group] <= 0) {
      return std::nullopt;
    }
    std::int64_t worst = ShareInUse(option->own.bytes, option->own.reserved);
    for (const LinkShare& share : option->shared) {
      const auto link = static_cast<std::size_t>(share.link);
      worst =
          std::max(worst, ShareInUse(bytes_[link] + share.bytes, reserved_[link] + share.reserved));
    }
    return worst;
  }

  void Place(std::size_t device, std::size_t group) { Change(device, group, 1); }
  void TakeBack(std::size_t device, std::size_t group) { Change(device, group, -1); }

  int places(std::size_t group) const { return places_[group]; }
  std::int64_t bytes(int link) const { return bytes_[static_cast<std::size_t>(link)]; }

  /// What decides how the rest can go on, for remembering.
  std::vector<std::int64_t> State(std::int64_t first, std::int64_t second) const {
    std::vector<std::int64_t> state{first, second};
    state.insert(state.end(), bytes_.begin(), bytes_.end());
    state.insert(state.end(), reserved_.begin(), reserved_.end());
    state.insert(state.end(), places_.begin(), places_.end());
    return state;
  }

 private:
  void Change(std::size_t device, std::size_t group, int sign) {
    places_[group] -= sign;
    for (const LinkShare& share : problem_.options[device][group]->shared) {
      bytes_[static_cast<std::size_t>(share.link)] += sign * share.bytes;
      reserved_[static_cast<std::size_t>(share.link)] += sign * share.reserved;
    }
  }

  const MoveProblem& problem_;
  std::vector<std::int64_t> bytes_;
  std::vector<std::int64_t> reserved_;
  std::vector<int> places_;
};

/// Whether everything that `a` puts on links, `b` puts there too.
bool NoWorse(const MoveOption& a, const MoveOption& b) {
  if (a.own.bytes > b.own.bytes || a.own.reserved > b.own.reserved) {
    return false;
  }
  return std::all_of(a.shared.begin(), a.shared.end(), [&](const LinkShare& one) {
    return std::any_of(b.shared.begin(), b.shared.end(), [&](const LinkShare& other) {
      return other.link == one.link && other.bytes >= one.bytes && other.reserved >= one.reserved;
    });
  });
}

/// Both passes walk the same tree: device after device in `order`, each to a group.
class Search {
 public:
  Search(const MoveProblem& problem, std::vector<std::size_t> order)
      : problem_(problem), board_(problem), order_(std::move(order)) {}

  bool cut_short() const { return cut_short_; }

 protected:
  std::size_t Devices() const { return order_.size(); }
  std::size_t Left(std::size_t depth) const { return order_.size() - depth; }
  std::size_t Now(std::size_t device) const {
    return static_cast<std::size_t>(problem_.now[device]);
  }

  bool Step(std::size_t depth) {
    looks_ += Left(depth) * problem_.places.size();
    cut_short_ = cut_short_ || looks_ > kMostLooks;
    return !cut_short_;
  }

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
          lightest = share.link == top ? std::min(lightest, share.bytes) : lightest;
        }
      }
    }
    return lightest;
  }

  std::size_t looks_ = 0;
  bool cut_short_ = false;
  std::set<std::vector<std::int64_t>> seen_;
};

/// First pass: the lowest worst share.
class LowestWorst : public Search {
 public:
  LowestWorst(const MoveProblem& problem, std::vector<std::size_t> order)
      : Search(problem, std::move(order)), best_(WorstShare(problem, problem.now)) {}

  std::int64_t Find() {
    Descend(0, 0);
    return best_;
  }

 private:
  struct Choice {
    std::int64_t share = 0;
    std::size_t group = 0;
    bool operator<(const Choice& other) const { return share < other.share; }
  };

  void Descend(std::size_t depth, std::int64_t worst) {
    if (depth == Devices()) {
      best_ = worst;  // only reached below best_
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
      Descend(depth + 1, choice.share);
      board_.TakeBack(device, choice.group);
    }
  }

  std::int64_t best_;
};

/// Second pass: a way to that share with at most so many moves.
class FewestMoves : public Search {
 public:
  FewestMoves(const MoveProblem& problem, std::vector<std::size_t> order, std::int64_t worst,
              int moves)
      : Search(problem, std::move(order)), worst_(worst), moves_(moves), chosen_(Devices()) {}

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
  std::vector<std::size_t> order(problem.now.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  const auto weight = [&](std::size_t device) {
    const auto& here = problem.options[device][static_cast<std::size_t>(problem.now[device])];
    std::int64_t most = here->own.bytes;
    for (const LinkShare& share : here->shared) {
      most = std::max(most, share.bytes);
    }
    return most;
  };
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return weight(a) > weight(b); });
  return order;
}

}  // namespace

std::int64_t ShareInUse(std::int64_t bytes, std::int64_t reserved) {
  return reserved > kWholeShare ? std::max(bytes, reserved) : bytes;
}

std::int64_t WorstShare(const MoveProblem& problem, const std::vector<int>& groups) {
  std::vector<std::int64_t> bytes(static_cast<std::size_t>(problem.links));
  std::vector<std::int64_t> reserved(static_cast<std::size_t>(problem.links));
  std::int64_t worst = 0;
  for (std::size_t device = 0; device < groups.size(); ++device) {
    const auto& option = problem.options[device][static_cast<std::size_t>(groups[device])];
    worst = std::max(worst, ShareInUse(option->own.bytes, option->own.reserved));
    for (const LinkShare& share : option->shared) {
      bytes[static_cast<std::size_t>(share.link)] += share.bytes;
      reserved[static_cast<std::size_t>(share.link)] += share.reserved;
    }
  }
  for (std::size_t link = 0; link < bytes.size(); ++link) {
    worst = std::max(worst, ShareInUse(bytes[link], reserved[link]));
  }
  return worst;
}

MoveAnswer SearchMoves(const MoveProblem& problem) {
  MoveAnswer answer{problem.now, 0, 0, true};
  answer.worst = WorstShare(problem, problem.now);
  LowestWorst lowest(problem, HeaviestFirst(problem));
  const std::int64_t best = lowest.Find();
  answer.exact = !lowest.cut_short();
  if (best >= answer.worst) {
    return answer;
  }
  std::vector<std::size_t> order(problem.now.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  for (int moves = 1; moves <= static_cast<int>(problem.now.size()); ++moves) {
    FewestMoves fewest(problem, order, best, moves);
    if (fewest.Find()) {
      answer.group = fewest.chosen();
      answer.worst = WorstShare(problem, answer.group);
      answer.moves = moves;
      return answer;
    }
    answer.exact = answer.exact && !fewest.cut_short();
  }
  return answer;
}

}  // namespace report
