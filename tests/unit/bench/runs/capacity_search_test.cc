// SPDX-License-Identifier: Apache-2.0
//
// The search on simulated machines: exact, wrongly predicted, noisy, broken.

#include "bench/runs/capacity_search.h"

#include <algorithm>
#include <cmath>
#include <random>
#include <utility>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace bench {
namespace {

/// A PC whose load grows by a line and that drops what is beyond full.
class SimulatedMachine {
 public:
  /// Carries `most` sources more; `noise` is the spread of a run's load.
  explicit SimulatedMachine(int most, double noise = 0, unsigned seed = 1)
      : each_((1 - kPlainLoad) / (most + 0.5)), noise_(noise), random_(seed) {}

  static constexpr double kPlainLoad = 0.2;

  static constexpr double kWholeSeconds = 10;
  static constexpr double kShortSeconds = 4;

  base::Result<SearchRun> Run(int added, TrialLength length = TrialLength::kWhole) {
    const double asked = kPlainLoad + each_ * added + noise_ * normal_(random_);
    SearchRun run;
    run.added = added;
    run.seconds = length == TrialLength::kWhole ? kWholeSeconds : kShortSeconds;
    run.due = 1000;
    run.dropped = asked > 1 ? static_cast<std::int64_t>(std::ceil(1000 * (1 - 1 / asked))) : 0;
    run.load = std::min(1.0, asked);
    run.carried = run.dropped == 0;
    seconds += run.seconds;
    return run;
  }

  CapacitySearch Search(int predicted) {
    return SearchCapacity({"Camera", predicted, 16, kPlainLoad},
                          [this](int added, TrialLength length) { return Run(added, length); });
  }

  /// Seconds of a ramp of whole runs from one source upwards, near ones settled as the search does.
  double RampSeconds(int limit) {
    seconds = 0;
    for (int added = 1; added <= limit; ++added) {
      int carried = 0;
      int lost = 0;
      while (carried < 2 && lost < 2) {
        const SearchRun run = *Run(added);
        ++(run.carried ? carried : lost);
        if (carried + lost == 1 && !Near(run)) {
          break;
        }
      }
      if (lost > carried) {
        break;
      }
    }
    return seconds;
  }

  double seconds = 0;

 private:
  double each_;
  double noise_;
  std::mt19937 random_;
  std::normal_distribution<> normal_;
};

TEST(SearchCapacity, FindsEveryBoundaryFromEveryPrediction) {
  for (int most = 0; most <= 16; ++most) {
    for (int predicted = 0; predicted <= 16; ++predicted) {
      SimulatedMachine machine(most);
      const CapacitySearch search = machine.Search(predicted);
      ASSERT_TRUE(search.confirmed) << most << " from " << predicted;
      EXPECT_EQ(*search.confirmed, most) << "from " << predicted;
      EXPECT_EQ(search.stopped_because, "");
      EXPECT_LE(search.runs.size(), 12U) << most << " from " << predicted;
    }
  }
}

TEST(SearchCapacity, BothSidesOfTheBoundaryAreRehearsed) {
  for (int most = 1; most <= 15; ++most) {
    SimulatedMachine machine(most);
    const CapacitySearch search = machine.Search(most + 1);
    EXPECT_TRUE(std::any_of(search.runs.begin(), search.runs.end(), [&](const SearchRun& run) {
      return run.added == most && run.carried && run.seconds == SimulatedMachine::kWholeSeconds;
    })) << most;
    EXPECT_TRUE(std::any_of(search.runs.begin(), search.runs.end(), [&](const SearchRun& run) {
      return run.added == most + 1 && !run.carried &&
             (run.seconds == SimulatedMachine::kWholeSeconds || !Near(run));
    })) << most;
  }
}

/// Seconds of the search and of a ramp, summed over boundaries from 8 to 16.
std::pair<double, double> SummedSeconds(int error) {
  std::pair<double, double> sums;
  for (int most = 8; most <= 16; ++most) {
    SimulatedMachine machine(most);
    machine.Search(most + error);
    sums.first += std::exchange(machine.seconds, 0);
    sums.second += machine.RampSeconds(16);
  }
  return sums;
}

// For few sources a ramp is short itself, and both sides of the boundary have
// to be run whatever is known: the quarter is asked of the sum over many.
TEST(SearchCapacity, TakesAtMostAQuarterOfARampFromPredictionsThatAreNearlyRight) {
  for (const int error : {-2, -1, 0, 1, 2}) {
    const auto [search, ramp] = SummedSeconds(error);
    EXPECT_LE(4 * search, ramp) << "predictions " << error << " off";
  }
}

TEST(SearchCapacity, AFewSourcesTakeFourRuns) {
  for (int most = 1; most < 8; ++most) {
    SimulatedMachine machine(most);
    EXPECT_LE(machine.Search(most).runs.size(), 4U) << most;
  }
}

TEST(SearchCapacity, ShortRunsThatSeemToCarryAreMendedByWholeOnes) {
  for (const int seem_to_carry : {7, 9, 16}) {  // where six are
    const CapacitySearch search =
        SearchCapacity({"Camera", 6, 16, 0.2}, [&](int added, TrialLength length) {
          SimulatedMachine machine(length == TrialLength::kWhole ? 6 : seem_to_carry);
          return machine.Run(added, length);
        });
    EXPECT_EQ(search.confirmed, 6) << seem_to_carry;
  }
}

TEST(SearchCapacity, NoiseMovesTheAnswerByOneAtMost) {
  for (unsigned seed = 0; seed < 200; ++seed) {
    const int most = static_cast<int>(seed % 14) + 1;
    // A tenth of one source's load.
    SimulatedMachine machine(most, 0.1 * 0.8 / (most + 0.5), seed);
    const CapacitySearch search = machine.Search(most / 2);
    ASSERT_TRUE(search.confirmed) << seed;
    EXPECT_NEAR(*search.confirmed, most, 1) << seed;
    EXPECT_LE(search.runs.size(), 16U) << seed;
  }
}

TEST(SearchCapacity, TheLimitIsNeverPassedAndIsAnAnswer) {
  SimulatedMachine machine(40);
  const CapacitySearch search = SearchCapacity({"Camera", 99, 5, SimulatedMachine::kPlainLoad},
                                               [&](int added, TrialLength length) {
                                                 EXPECT_LE(added, 5);
                                                 return machine.Run(added, length);
                                               });
  EXPECT_EQ(search.predicted, 5);
  EXPECT_EQ(search.confirmed, 5);
  EXPECT_EQ(search.limit, 5);
}

TEST(SearchCapacity, WithoutRoomInTheFormatNothingIsRun) {
  const CapacitySearch search = SearchCapacity({"Camera", 3, 0, 0.1}, [](int, TrialLength) {
    ADD_FAILURE() << "nothing may be added";
    return base::Result<SearchRun>(SearchRun{});
  });
  EXPECT_EQ(search.confirmed, 0);
  EXPECT_TRUE(search.runs.empty());
}

TEST(SearchCapacity, KeepsWhyItCouldNotGoOn) {
  SimulatedMachine machine(9);
  const CapacitySearch search =
      SearchCapacity({"Camera", 4, 16, 0.2}, [&](int added, TrialLength length) {
        return added > 4 ? base::Result<SearchRun>(
                               base::Error{base::ErrorKind::kIo, "/takes", "the disk is full"})
                         : machine.Run(added, length);
      });
  EXPECT_FALSE(search.confirmed);
  EXPECT_EQ(search.stopped_because, "/takes: the disk is full");
  EXPECT_FALSE(search.runs.empty()) << "what ran is kept";
}

TEST(SearchCapacity, StopsWhenAsked) {
  std::stop_source stop;
  SimulatedMachine machine(9);
  const SearchOptions options{"Camera", 4, 16, 0.2};
  const CapacitySearch search = SearchCapacity(
      options,
      [&](int added, TrialLength length) {
        stop.request_stop();
        return machine.Run(added, length);
      },
      stop.get_token());
  EXPECT_FALSE(search.confirmed);
  EXPECT_EQ(search.runs.size(), 1U);
  EXPECT_EQ(search.stopped_because, "interrupted");
}

TEST(Near, IsARunThatChanceCouldTurn) {
  SearchRun run;
  run.due = 1000;
  run.carried = true;
  run.load = 0.5;
  EXPECT_FALSE(Near(run));
  run.load = 0.95;
  EXPECT_TRUE(Near(run));
  run.carried = false;
  run.dropped = 2;
  EXPECT_TRUE(Near(run));
  run.dropped = 200;
  EXPECT_FALSE(Near(run));
}

}  // namespace
}  // namespace bench
