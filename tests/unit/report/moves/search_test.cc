// SPDX-License-Identifier: Apache-2.0
//
// The move search against every assignment tried one by one, on random trees with fixed seeds.

#include "report/moves/search.h"

#include <algorithm>
#include <cmath>
#include <compare>
#include <cstddef>
#include <random>
#include <utility>
#include <vector>

#include <gtest/gtest.h>

namespace report {
namespace {

/// A random PC: controllers, hubs below them, groups of ports on either.
struct RandomTree {
  int devices = 4;
  int controllers = 2;
  int hubs = 3;
  int spare = 6;       // free ports
  bool equal = false;  // all devices alike
};

int Below(std::mt19937& random, int limit) {
  return static_cast<int>(random() % static_cast<unsigned>(limit));
}

MoveOption OptionBehind(const std::vector<int>& links, std::int64_t bytes, std::int64_t least,
                        std::int64_t most, const Burden& burden = {}) {
  MoveOption option;
  option.burden = burden;
  for (const int link : links) {
    const bool timed = link % 2 == 0;
    option.shared.push_back({link, {bytes, bytes / 2, timed ? least : 0, timed ? most : 0}});
  }
  option.own = {bytes / 2, bytes / 4, least / 2, most / 2};
  return option;
}

MoveProblem Pose(const RandomTree& tree, unsigned seed) {
  std::mt19937 random(seed);
  MoveProblem problem;
  problem.links = tree.controllers + tree.hubs;
  // Group i: the ports of controller i, then those of each hub.
  std::vector<std::vector<int>> above;
  std::vector<Burden> burdens;
  for (int i = 0; i < tree.controllers; ++i) {
    above.push_back({i});
    problem.top.push_back(i);
    burdens.push_back({0, Below(random, 2)});
  }
  for (int i = 0; i < tree.hubs; ++i) {
    const auto parent = static_cast<std::size_t>(Below(random, static_cast<int>(above.size())));
    std::vector<int> links{tree.controllers + i};
    links.insert(links.end(), above[parent].begin(), above[parent].end());
    above.push_back(links);
    problem.top.push_back(problem.top[parent]);
    burdens.push_back({burdens[parent].hubs + 1, burdens[parent].disks + Below(random, 2)});
  }
  problem.places.assign(above.size(), 0);
  for (int i = 0; i < tree.spare; ++i) {
    ++problem.places[static_cast<std::size_t>(Below(random, static_cast<int>(above.size())))];
  }
  for (int i = 0; i < tree.devices; ++i) {
    const auto now = static_cast<std::size_t>(Below(random, static_cast<int>(above.size())));
    problem.now.push_back(static_cast<int>(now));
    ++problem.places[now];
    const std::int64_t bytes = kWholeShare / 100 * (tree.equal ? 31 : 5 + Below(random, 60));
    const std::int64_t most = kWholeShare / 100 * (tree.equal ? 40 : Below(random, 90));
    const std::int64_t least = tree.equal ? most : most / 100 * Below(random, 101);
    auto& row = problem.options.emplace_back();
    for (std::size_t group = 0; group < above.size(); ++group) {
      const bool can = group == now || Below(random, 5) > 0;
      row.push_back(
          can ? std::optional(OptionBehind(above[group], bytes, least, most, burdens[group]))
              : std::nullopt);
    }
  }
  return problem;
}

struct Best {
  std::vector<std::int64_t> shares;
  int moves = 0;
  Burden burden;

  auto operator<=>(const Best&) const = default;
};

/// To whole twentieths of a link; what is a millionth above one is the rounding of a sum.
std::int64_t RoundedUp(std::int64_t share) {
  const double twentieths = std::ceil(static_cast<double>(share) * 20 / kWholeShare - 2e-5);
  return static_cast<std::int64_t>(std::max(0.0, twentieths)) * (kWholeShare / 20);
}

/// In use on every link, fullest first, all but the first in whole twentieths: own cables, and
/// links that more than one device loads or that are fuller than the cable of the one that does.
/// Reckoned here by itself.
std::vector<std::int64_t> AllShares(const MoveProblem& problem, const std::vector<int>& groups) {
  std::vector<std::int64_t> shares;
  std::vector<Shares> loads(static_cast<std::size_t>(problem.links));
  std::vector<std::int64_t> cables(loads.size());
  std::vector<int> loading(loads.size());
  for (std::size_t device = 0; device < groups.size(); ++device) {
    const auto& option = problem.options[device][static_cast<std::size_t>(groups[device])];
    shares.push_back(option->own.InUse());
    for (const LinkShare& share : option->shared) {
      const auto link = static_cast<std::size_t>(share.link);
      loads[link] += share.part;
      const bool any = share.part.bytes > 0 || share.part.most > 0;
      loading[link] += any ? 1 : 0;
      cables[link] += any ? option->own.InUse() : 0;
    }
  }
  for (std::size_t link = 0; link < loads.size(); ++link) {
    const bool alone = loading[link] == 1 && loads[link].InUse() <= cables[link];
    shares.push_back(alone || loading[link] == 0 ? 0 : loads[link].InUse());
  }
  std::sort(shares.rbegin(), shares.rend());
  for (std::size_t rank = 1; rank < shares.size(); ++rank) {
    shares[rank] = RoundedUp(shares[rank]);
  }
  return shares;
}

std::int64_t WorstShare(const MoveProblem& problem, const std::vector<int>& groups) {
  return AllShares(problem, groups).front();
}

/// Every way there is; nothing left out.
class EveryWay {
 public:
  explicit EveryWay(const MoveProblem& problem)
      : problem_(problem), left_(problem.places), groups_(problem.now) {
    best_ = {AllShares(problem, problem.now), 0, BurdenOf(problem, problem.now)};
    Descend(0, 0);
  }
  const Best& best() const { return best_; }

 private:
  void Descend(std::size_t device, int moves) {
    if (device == groups_.size()) {
      best_ = std::min(best_, {AllShares(problem_, groups_), moves, BurdenOf(problem_, groups_)});
      return;
    }
    for (std::size_t group = 0; group < left_.size(); ++group) {
      if (left_[group] <= 0 || !problem_.options[device][group]) {
        continue;
      }
      --left_[group];
      groups_[device] = static_cast<int>(group);
      Descend(device + 1, moves + (groups_[device] == problem_.now[device] ? 0 : 1));
      ++left_[group];
    }
  }

  const MoveProblem& problem_;
  std::vector<int> left_;
  std::vector<int> groups_;
  Best best_;
};

int MovesOf(const MoveProblem& problem, const MoveAnswer& answer) {
  int moves = 0;
  for (std::size_t i = 0; i < answer.group.size(); ++i) {
    moves += answer.group[i] == problem.now[i] ? 0 : 1;
  }
  return moves;
}

/// Each device where it can be, and no group holding more than it has places.
void ExpectPossible(const MoveProblem& problem, const MoveAnswer& answer, unsigned seed) {
  ASSERT_EQ(answer.group.size(), problem.now.size()) << seed;
  std::vector<int> used(problem.places.size());
  for (std::size_t i = 0; i < answer.group.size(); ++i) {
    const auto group = static_cast<std::size_t>(answer.group[i]);
    ++used[group];
    EXPECT_TRUE(problem.options[i][group]) << seed;
  }
  for (std::size_t group = 0; group < used.size(); ++group) {
    EXPECT_LE(used[group], problem.places[group]) << seed;
  }
}

void ExpectBest(const MoveProblem& problem, unsigned seed) {
  const Best best = EveryWay(problem).best();
  const MoveAnswer answer = SearchMoves(problem);
  EXPECT_TRUE(answer.exact) << seed;
  EXPECT_EQ(AllShares(problem, answer.group), best.shares) << seed;
  EXPECT_EQ(SharesInUse(problem, answer.group), best.shares) << seed;
  EXPECT_EQ(MovesOf(problem, answer), best.moves) << seed;
  EXPECT_EQ(BurdenOf(problem, answer.group), best.burden) << seed;
  ExpectPossible(problem, answer, seed);
}

class RandomTrees : public ::testing::TestWithParam<unsigned> {};

TEST_P(RandomTrees, FewDevices) {
  const unsigned seed = GetParam();
  for (unsigned i = 0; i < 10; ++i) {
    const RandomTree tree{.devices = 1 + static_cast<int>((seed + i) % 4), .spare = 5};
    ExpectBest(Pose(tree, seed * 100 + i), seed * 100 + i);
  }
}

TEST_P(RandomTrees, EqualDevices) {
  const unsigned seed = GetParam();
  ExpectBest(Pose({.devices = 5, .equal = true}, seed), seed);
}

TEST_P(RandomTrees, EightDevices) {
  const unsigned seed = GetParam();
  ExpectBest(Pose({.devices = 8, .controllers = 2, .hubs = 1, .spare = 5}, seed), seed);
}

TEST_P(RandomTrees, EightEqualDevicesOnThreeControllers) {
  const unsigned seed = GetParam();
  ExpectBest(Pose({.devices = 8, .controllers = 3, .hubs = 0, .spare = 12, .equal = true}, seed),
             seed);
}

INSTANTIATE_TEST_SUITE_P(FixedSeeds, RandomTrees, ::testing::Range(1U, 21U));

// Twenty ports, each behind a hub of its own: nothing is alike, and still it ends.
TEST(SearchMoves, EightDevicesOnTwentyPortsThatAreAllDifferent) {
  for (const unsigned seed : {2U, 3U, 5U}) {
    const MoveProblem problem =
        Pose({.devices = 8, .controllers = 3, .hubs = 17, .spare = 20}, seed);
    const MoveAnswer answer = SearchMoves(problem);
    EXPECT_TRUE(answer.exact) << seed;
    EXPECT_LE(AllShares(problem, answer.group), AllShares(problem, problem.now)) << seed;
  }
}

// However early it ends: what was found until then, and never worse than staying.
TEST(SearchMoves, ASearchThatIsCutShortKeepsTheBestThatItMet) {
  int better = 0;
  for (unsigned seed = 1; seed <= 10; ++seed) {
    const MoveProblem problem =
        Pose({.devices = 8, .controllers = 3, .hubs = 5, .spare = 12}, seed);
    const auto now = AllShares(problem, problem.now);
    const auto best = AllShares(problem, SearchMoves(problem).group);
    for (const std::size_t looks : {0U, 300U, 1000U, 3000U, 10000U}) {
      const MoveAnswer answer = SearchMoves(problem, looks);
      const auto met = AllShares(problem, answer.group);
      ExpectPossible(problem, answer, seed);
      EXPECT_LE(met, now) << seed;
      EXPECT_GE(met, best) << seed;
      if (looks == 0) {
        EXPECT_FALSE(answer.exact) << seed;
        EXPECT_EQ(answer.group, problem.now) << seed;
      }
      better += !answer.exact && met < now ? 1 : 0;
    }
  }
  EXPECT_GT(better, 0);
}

// Passes that look for fewer moves take from the same looks as the first: with the looks of the
// first alone, the lowest shares stand and their moves may be more.
TEST(SearchMoves, AllPassesTogetherKeepToOneNumberOfLooks) {
  int without_all_passes = 0;
  for (unsigned seed = 1; seed <= 10; ++seed) {
    const MoveProblem problem =
        Pose({.devices = 8, .controllers = 3, .hubs = 5, .spare = 12}, seed);
    const auto best = AllShares(problem, SearchMoves(problem).group);
    for (std::size_t looks = 50; looks < 100'000; looks += looks / 4) {
      const MoveAnswer answer = SearchMoves(problem, looks);
      if (answer.exact) {
        break;
      }
      without_all_passes += AllShares(problem, answer.group) == best ? 1 : 0;
    }
  }
  EXPECT_GT(without_all_passes, 0);
}

TEST(SearchMoves, NeverMovesForNothing) {
  // Two devices of 30 % share a link; the other link is as good, not better.
  MoveProblem problem;
  problem.links = 2;
  problem.places = {1, 1};
  problem.top = {0, 1};
  problem.now = {0};
  problem.options = {{OptionBehind({0}, 300'000'000, 0, 0), OptionBehind({1}, 300'000'000, 0, 0)}};
  const MoveAnswer answer = SearchMoves(problem);
  EXPECT_EQ(answer.group, std::vector<int>{0});
}

TEST(SearchMoves, TwoDevicesChangePlacesWhereNoPortIsFree) {
  // Link 0 is fast for device 0 only, link 1 for device 1 only; each is on the other's.
  MoveProblem problem;
  problem.links = 2;
  problem.places = {1, 1};
  problem.top = {0, 1};
  problem.now = {1, 0};
  problem.options = {{OptionBehind({0}, 100'000'000, 0, 0), OptionBehind({1}, 900'000'000, 0, 0)},
                     {OptionBehind({0}, 900'000'000, 0, 0), OptionBehind({1}, 100'000'000, 0, 0)}};
  const MoveAnswer answer = SearchMoves(problem);
  EXPECT_EQ(MovesOf(problem, answer), 2);
  EXPECT_EQ(WorstShare(problem, answer.group), 100'000'000);
}

TEST(Shares, CountReservedTimeOnlyWhereItIsMoreThanAll) {
  EXPECT_EQ((Shares{400'000'000, 400'000'000, 990'000'000, 990'000'000}).InUse(), 400'000'000);
  EXPECT_EQ((Shares{400'000'000, 400'000'000, kWholeShare, kWholeShare}).InUse(), 400'000'000);
  EXPECT_EQ((Shares{400'000'000, 400'000'000, kWholeShare + 1, kWholeShare + 9}).InUse(),
            kWholeShare + 1);
}

TEST(Shares, AreAllOfALinkWhereOnlyTheMostIsMore) {
  EXPECT_EQ((Shares{400'000'000, 400'000'000, 990'000'000, kWholeShare + 1}).InUse(), kWholeShare);
  EXPECT_EQ((Shares{kWholeShare + 7, kWholeShare + 7, 990'000'000, kWholeShare + 1}).InUse(),
            kWholeShare + 7);
}

TEST(Shares, AreAllOfALinkWhereOnlyWhatIsAssumedIsMore) {
  EXPECT_EQ((Shares{kWholeShare + 7, 400'000'000, 0, 0}).InUse(), kWholeShare);
  EXPECT_EQ((Shares{kWholeShare + 9, kWholeShare + 7, 0, 0}).InUse(), kWholeShare + 7);
}

// The first device's cable is fuller than all of it wherever it goes; the two others share a link
// that is too full, and one of them can leave it.
TEST(SearchMoves, MendsWhatItCanWhereOneDeviceCannotBeHelped) {
  const auto on = [](int link, std::int64_t bytes, std::int64_t own) {
    MoveOption option;
    option.shared.push_back({link, {bytes, bytes, 0, 0}});
    option.own = {own, own, 0, 0};
    return std::optional(option);
  };
  MoveProblem problem;
  problem.links = 3;
  problem.places = {1, 2, 1};
  problem.top = {0, 1, 2};
  problem.now = {0, 1, 1};
  const std::int64_t percent = kWholeShare / 100;
  problem.options = {
      {on(0, 100 * percent, 190 * percent), std::nullopt, std::nullopt},
      {std::nullopt, on(1, 60 * percent, 60 * percent), std::nullopt},
      {std::nullopt, on(1, 60 * percent, 60 * percent), on(2, 60 * percent, 60 * percent)}};
  EXPECT_EQ(SearchMoves(problem).group, (std::vector<int>{0, 1, 2}));
}

// Either of two devices may leave the link; the one behind more hubs does, and of two at the same
// depth the one beside a disk.
TEST(SearchMoves, RelievesTheDeeperHubAndTheDisk) {
  for (const Burden& heavier : {Burden{2, 0}, Burden{1, 1}}) {
    MoveProblem problem = Pose({.devices = 0, .controllers = 2, .hubs = 2, .spare = 0}, 1);
    const std::int64_t half = kWholeShare / 2;
    const auto option = [&](std::vector<int> links, const Burden& burden) {
      return std::optional(OptionBehind(links, half, 0, 0, burden));
    };
    // Groups: the ports of two controllers and of a hub below each hub's own link.
    problem.places = {0, 1, 1, 1};
    problem.top = {0, 1, 0, 0};
    problem.now = {2, 3};
    problem.options = {{option({0}, {}), option({1}, {}), option({2, 0}, {1, 0}), std::nullopt},
                       {option({0}, {}), option({1}, {}), std::nullopt, option({3, 0}, heavier)}};
    EXPECT_EQ(SearchMoves(problem).group, (std::vector<int>{2, 1}));
    std::swap(problem.options[0][2]->burden, problem.options[1][3]->burden);
    EXPECT_EQ(SearchMoves(problem).group, (std::vector<int>{1, 3}));
  }
}

// One of two devices must leave their link, and two places load the other link alike: it goes to
// the one behind fewer hubs, and of two at the same depth to the one without a disk.
TEST(SearchMoves, OfPlacesThatLoadAlikeTheLeastBurdenIsTaken) {
  for (const Burden& heavier : {Burden{2, 0}, Burden{1, 1}}) {
    MoveProblem problem;
    problem.links = 2;
    problem.places = {2, 1, 1};
    problem.top = {0, 1, 1};
    problem.now = {0, 0};
    const std::int64_t most_of_it = kWholeShare / 10 * 6;
    problem.options = {
        {OptionBehind({0}, most_of_it, 0, 0), std::nullopt, std::nullopt},
        {OptionBehind({0}, most_of_it, 0, 0), OptionBehind({1}, most_of_it, 0, 0, heavier),
         OptionBehind({1}, most_of_it, 0, 0, {1, 0})}};
    EXPECT_EQ(SearchMoves(problem).group, (std::vector<int>{0, 2}));
    std::swap(problem.options[1][1], problem.options[1][2]);
    EXPECT_EQ(SearchMoves(problem).group, (std::vector<int>{0, 1}));
  }
}

}  // namespace
}  // namespace report
