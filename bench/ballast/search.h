// SPDX-License-Identifier: Apache-2.0
//
// Which level of extra load to hold next: bisection between carried and dropped, then
// confirmation of both ends.

#pragma once

#include <optional>
#include <vector>

namespace bench {

struct BallastSearchRule {
  double most = 0;         // the highest level that can be made or could be carried
  double first_guess = 0;  // held first; at `most` where it is higher
  double resolution = 0;   // the two ends may be this far apart
  int confirmations = 1;   // further holds of each end that must agree
  int most_holds = 40;     // of all levels
  bool saturates = true;   // a load that falls short while nothing drops is all that can be made
};

/// A level is carried when more of its holds were carried than dropped, and the
/// other way round; while they are even it is held again. Loads that disturb a
/// hold from outside thus need to come twice to mislead.
class BallastSearch {
 public:
  explicit BallastSearch(const BallastSearchRule& rule);

  /// The level to hold; nothing once both ends are confirmed, or holds are used up.
  std::optional<double> Next() const;

  /// What the hold of `level` showed. `used` far below it means that no more could
  /// be made: dropped, the level counts as one just above `used`; carried, as the
  /// most where the load saturates.
  void Took(double level, double used, bool carried);

  /// The highest carried level below the lowest dropped one; nothing when not even the least was.
  std::optional<double> carried() const;
  /// The lowest dropped level; nothing when none dropped.
  std::optional<double> dropped_at() const;
  /// Holds that stand behind each.
  int carried_holds() const;
  int dropped_holds() const;
  /// Both ends are near enough and confirmed (at the top the carried one alone).
  bool complete() const;

 private:
  struct Tally {
    double level = 0;
    int carried = 0;
    int dropped = 0;
  };
  Tally& TallyOf(double level);
  const Tally* Lower() const;
  const Tally* Upper() const;
  const Tally* Undecided() const;
  bool NearEnough() const;
  bool LowerConfirmed() const;
  bool UpperConfirmed() const;
  double Middle() const;

  BallastSearchRule rule_;
  std::vector<Tally> tallies_;  // ascending by level
  int holds_ = 0;
};

}  // namespace bench
