// SPDX-License-Identifier: Apache-2.0

#include "bench/ballast/search.h"

#include <algorithm>

namespace bench {
namespace {

/// Less than this share of what was asked: the load could not be made.
constexpr double kMade = 0.9;
/// A level as good as nothing: not worth a hold.
constexpr double kLeastShare = 1e-6;

}  // namespace

BallastSearch::BallastSearch(const BallastSearchRule& rule) : rule_(rule) {
  rule_.most = std::max(rule_.most, 0.0);
  rule_.resolution = std::max(rule_.resolution, rule_.most * 1e-3);
}

BallastSearch::Tally& BallastSearch::TallyOf(double level) {
  const double same = rule_.resolution / 100;
  auto place = std::lower_bound(tallies_.begin(), tallies_.end(), level - same,
                                [](const Tally& one, double wanted) { return one.level < wanted; });
  if (place == tallies_.end() || place->level > level + same) {
    place = tallies_.insert(place, Tally{level, 0, 0});
  }
  return *place;
}

const BallastSearch::Tally* BallastSearch::Upper() const {
  const auto found = std::find_if(tallies_.begin(), tallies_.end(),
                                  [](const Tally& one) { return one.dropped > one.carried; });
  return found == tallies_.end() ? nullptr : &*found;
}

const BallastSearch::Tally* BallastSearch::Lower() const {
  const Tally* upper = Upper();
  const Tally* lower = nullptr;
  for (const Tally& one : tallies_) {
    if (one.carried > one.dropped && (upper == nullptr || one.level < upper->level)) {
      lower = &one;
    }
  }
  return lower;
}

/// Even so far, and not outside what the decided ones leave open.
const BallastSearch::Tally* BallastSearch::Undecided() const {
  const Tally* upper = Upper();
  const Tally* lower = Lower();
  const auto found = std::find_if(tallies_.begin(), tallies_.end(), [&](const Tally& one) {
    return one.carried == one.dropped && (upper == nullptr || one.level < upper->level) &&
           (lower == nullptr || one.level > lower->level);
  });
  return found == tallies_.end() ? nullptr : &*found;
}

bool BallastSearch::NearEnough() const {
  const Tally* upper = Upper();
  const Tally* lower = Lower();
  const double low = lower != nullptr ? lower->level : 0;
  const double high = upper != nullptr ? upper->level : rule_.most;
  return high - low <= rule_.resolution;
}

bool BallastSearch::LowerConfirmed() const {
  const Tally* lower = Lower();
  return lower == nullptr || lower->carried - lower->dropped > rule_.confirmations;
}

bool BallastSearch::UpperConfirmed() const {
  const Tally* upper = Upper();
  return upper == nullptr || upper->dropped - upper->carried > rule_.confirmations;
}

double BallastSearch::Middle() const {
  const Tally* upper = Upper();
  const Tally* lower = Lower();
  const double low = lower != nullptr ? lower->level : 0;
  const double high = upper != nullptr ? upper->level : rule_.most;
  return (low + high) / 2;
}

std::optional<double> BallastSearch::Next() const {
  if (holds_ >= rule_.most_holds || rule_.most <= 0) {
    return std::nullopt;
  }
  if (tallies_.empty()) {
    return rule_.first_guess > 0 ? std::min(rule_.first_guess, rule_.most) : rule_.most / 2;
  }
  if (const Tally* open = Undecided()) {
    return open->level;
  }
  if (!NearEnough()) {
    return Middle();
  }
  const Tally* lower = Lower();
  if (Upper() == nullptr && lower != nullptr && lower->level < rule_.most * (1 - kLeastShare)) {
    return rule_.most;  // that the top is too much was only assumed so far
  }
  if (lower != nullptr && !LowerConfirmed()) {
    return lower->level;
  }
  if (const Tally* upper = Upper(); upper != nullptr && !UpperConfirmed()) {
    return upper->level;
  }
  return std::nullopt;
}

void BallastSearch::Took(double level, double used, bool carried) {
  ++holds_;
  if (used < level * kMade) {
    if (carried && rule_.saturates) {
      rule_.most = level;
    } else if (!carried && used > 0) {
      level = used / kMade;
    }
  }
  Tally& tally = TallyOf(level);
  ++(carried ? tally.carried : tally.dropped);
}

std::optional<double> BallastSearch::carried() const {
  const Tally* lower = Lower();
  return lower != nullptr ? std::optional(lower->level) : std::nullopt;
}

std::optional<double> BallastSearch::dropped_at() const {
  const Tally* upper = Upper();
  return upper != nullptr ? std::optional(upper->level) : std::nullopt;
}

int BallastSearch::carried_holds() const {
  const Tally* lower = Lower();
  return lower != nullptr ? lower->carried : 0;
}

int BallastSearch::dropped_holds() const {
  const Tally* upper = Upper();
  return upper != nullptr ? upper->dropped : 0;
}

bool BallastSearch::complete() const {
  const Tally* lower = Lower();
  const bool top =
      Upper() == nullptr && lower != nullptr && lower->level >= rule_.most * (1 - kLeastShare);
  return Undecided() == nullptr && LowerConfirmed() && UpperConfirmed() &&
         (top || (Upper() != nullptr && NearEnough()));
}

}  // namespace bench
