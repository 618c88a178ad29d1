// SPDX-License-Identifier: Apache-2.0

#include "report/explain/explain.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include <fmt/format.h>

#include "base/stats/percentile.h"
#include "report/explain/rules.h"
#include "report/words/quantities.h"

namespace report {
namespace {

/// Queues hold pictures back before any is lost: the fault began that much earlier.
constexpr double kQueueSeconds = 1.0;
constexpr double kAfterSeconds = 0.3;
/// Fewer seconds without a loss are no ground for a comparison.
constexpr double kLeastCleanSeconds = 3;
/// A writer that is held up in this share of the run is too slow rather than stalled.
constexpr double kSlowShare = 0.4;
constexpr double kHeldUp = 0.8;
constexpr double kAsleep = 0.3;
constexpr char kDiskStall[] = "disk stall";
constexpr char kDiskTooSlow[] = "disk too slow";

using Points = std::vector<SignPoint>;

/// Where signs of a moment are looked for.
struct Window {
  double from_s = 0;
  double to_s = 0;
  double hole_s = 1;  // the length that Take::kHowOften counts in
};

double LevelOf(const Points& points, const Window& window, Take take, bool& known) {
  const double from_s = window.from_s;
  const double to_s = window.to_s;
  double sum = 0;
  double weight = 0;
  double extreme = 0;
  const auto first = std::partition_point(points.begin(), points.end(),
                                          [&](const SignPoint& one) { return one.to_s <= from_s; });
  for (auto point = first; point != points.end() && point->from_s < to_s; ++point) {
    const double inside = std::min(to_s, point->to_s) - std::max(from_s, point->from_s);
    const bool beyond = take == Take::kLowest ? point->value < extreme : point->value > extreme;
    extreme = weight == 0 || beyond ? point->value : extreme;
    sum += point->value * inside;
    weight += inside;
  }
  known = weight > 0;
  switch (take) {
    case Take::kMean:
      return known ? sum / weight : 0;
    case Take::kHowOften:
      return sum / window.hole_s;
    case Take::kHighest:
    case Take::kLowest:
      break;
  }
  return extreme;
}

double ShareAbove(const Points& points, double limit) {
  const auto above = std::count_if(points.begin(), points.end(),
                                   [limit](const SignPoint& one) { return one.value >= limit; });
  return points.empty() ? 0 : static_cast<double>(above) / static_cast<double>(points.size());
}

/// Clean stretches cut into lengths like those of moments, so that like is compared with like.
std::vector<CleanStretch> CutClean(const std::vector<CleanStretch>& clean) {
  constexpr double kLength = 1.5;
  std::vector<CleanStretch> cut;
  for (const CleanStretch& stretch : clean) {
    const double length = stretch.to_s - stretch.from_s;
    const int parts = std::max(1, static_cast<int>(length / kLength));
    for (int i = 0; i < parts && length > 0; ++i) {
      cut.push_back(
          {stretch.from_s + length * i / parts, stretch.from_s + length * (i + 1) / parts});
    }
  }
  return cut;
}

/// Values of signs in the clean stretches, each worked out once.
class CleanLevels {
 public:
  explicit CleanLevels(const ExplainInput& input)
      : signs_(input.signs), stretches_(CutClean(input.clean)) {
    for (const CleanStretch& stretch : stretches_) {
      seconds_ += stretch.to_s - stretch.from_s;
    }
  }

  bool Enough() const { return seconds_ >= kLeastCleanSeconds; }

  /// The level that three quarters of the clean stretches stay on the good side of.
  std::optional<double> Typical(const std::pair<Sign, std::string>& key, const SignTest& test) {
    const auto known = levels_.find({key, test.take});
    if (known != levels_.end()) {
      return known->second;
    }
    std::vector<double> values;
    const auto points = signs_.find(key);
    for (const CleanStretch& stretch : stretches_) {
      bool read = false;
      const Window window{stretch.from_s, stretch.to_s, stretch.to_s - stretch.from_s};
      const double value =
          points == signs_.end() ? 0 : LevelOf(points->second, window, test.take, read);
      if (read) {
        values.push_back(value);
      }
    }
    const double percent = test.bound == Bound::kAtLeast ? 75 : 25;
    const auto typical = values.empty() || !Enough()
                             ? std::nullopt
                             : std::optional(base::Percentile(values, percent));
    levels_[{key, test.take}] = typical;
    return typical;
  }

 private:
  const SignSeries& signs_;
  const std::vector<CleanStretch> stretches_;
  double seconds_ = 0;
  std::map<std::pair<std::pair<Sign, std::string>, Take>, std::optional<double>> levels_;
};

/// How one test came out, and the sentence for it.
struct Outcome {
  bool read = false;
  bool holds = false;
  bool telling = false;  // it holds, and would not in moments like others
  std::string text;
};

/// A shorter hole tells nothing of how long its cause was there.
constexpr double kShortestHole = 0.2;

/// Queues, and how sure the place is, make what was seen itself a little earlier or later.
Window WindowOf(const MissingMoment& moment, bool seen) {
  const double off_s = seen ? moment.within_s : 0;
  return {moment.from_s - kQueueSeconds - off_s, moment.to_s + kAfterSeconds + off_s,
          std::max(kShortestHole, moment.to_s - moment.from_s)};
}

/// Signs of a recording's own file stand only where they say something.
bool OfTheFile(Sign sign) {
  return sign == Sign::kHoleIsStep || sign == Sign::kRegularBeat || sign == Sign::kRoundSize;
}

bool PerOutput(Sign sign) {
  switch (sign) {
    case Sign::kEncodeBusy:
    case Sign::kEncodeMs:
    case Sign::kWriteBusy:
    case Sign::kHoleIsStep:
    case Sign::kRegularBeat:
    case Sign::kCutShort:
    case Sign::kRoundSize:
      return true;
    default:
      return false;
  }
}

/// A rule for all stages is none for the end of a recording, where nothing is lost before it.
bool AppliesTo(const CauseRule& rule, bench::Stage stage) {
  return rule.stages.empty()
             ? stage != bench::Stage::kEnd
             : std::find(rule.stages.begin(), rule.stages.end(), stage) != rule.stages.end();
}

class Explainer {
 public:
  explicit Explainer(const ExplainInput& input) : input_(input), clean_(input) {}

  Explanation Of(const MissingMoment& moment) {
    Explanation explanation;
    for (const CauseRule& rule : CauseRules()) {
      Judge(rule, moment, explanation);
    }
    if (explanation.cause == kCauseNotKnown) {
      explanation.suspects = SuspectsFor(moment);
    }
    if (explanation.cause == kDiskStall && WriterIsMostlyHeldUp(moment.output)) {
      explanation.cause = kDiskTooSlow;
      explanation.evidence_for.push_back(
          "the writer was held up most of the run, not now and then");
    }
    return explanation;
  }

 private:
  Outcome Test(const SignTest& test, const MissingMoment& moment, bool seen) {
    const std::pair<Sign, std::string> key{test.sign, PerOutput(test.sign) ? moment.output : ""};
    const auto points = input_.signs.find(key);
    const SignWords& words = WordsOf(test.sign);
    Outcome outcome;
    double at = 0;
    if (points != input_.signs.end()) {
      at = LevelOf(points->second, WindowOf(moment, seen), test.take, outcome.read);
    }
    if (!outcome.read) {
      outcome.text = fmt::format("{}: not sampled", words.name);
      return outcome;
    }
    const auto away = clean_.Typical(key, test);
    const double sign = test.bound == Bound::kAtLeast ? 1 : -1;
    const double limit = !away && std::isfinite(test.limit_alone) ? test.limit_alone : test.limit;
    outcome.holds = sign * (at - limit) >= 0 && (!away || sign * (at - *away) >= test.contrast);
    outcome.telling = outcome.holds && (test.contrast > 0 || OfTheFile(test.sign));
    if (test.take == Take::kHowOften) {
      outcome.text = fmt::format("{}: {:.2g} s beside a hole of {:.2g} s", words.name,
                                 at * WindowOf(moment, seen).hole_s,
                                 std::max(0.0, moment.to_s - moment.from_s));
      return outcome;
    }
    const std::string unit = UnitText(words, input_.cpus.all);
    outcome.text = fmt::format("{} {}{}", words.name, FormatNumber(at * words.scale), unit);
    outcome.text += away ? fmt::format(" at the loss, {}{} in moments without one",
                                       FormatNumber(*away * words.scale), unit)
                         : " at the loss; no moment without one to compare with";
    return outcome;
  }

  struct GroupOutcome {
    bool holds = false;
    bool telling = false;
    std::vector<std::string> lines;  // of the tests that hold, or the first that could be read
  };

  GroupOutcome Try(const SignGroup& group, const MissingMoment& moment, bool seen) {
    GroupOutcome all;
    std::optional<Outcome> failed;
    for (const SignTest& test : group) {
      Outcome outcome = Test(test, moment, seen);
      if (outcome.holds) {
        all.holds = true;
        all.telling = all.telling || outcome.telling;
        if (std::find(all.lines.begin(), all.lines.end(), outcome.text) == all.lines.end()) {
          all.lines.push_back(std::move(outcome.text));
        }
      } else if (!failed || (outcome.read && !failed->read)) {
        failed = std::move(outcome);
      }
    }
    if (!all.holds) {
      all.lines.push_back(failed->text);
    }
    return all;
  }

  void Judge(const CauseRule& rule, const MissingMoment& moment, Explanation& explanation) {
    if (!AppliesTo(rule, moment.stage)) {
      return;
    }
    std::vector<std::string> agree;
    for (const SignGroup& group : rule.groups) {
      const GroupOutcome outcome = Try(group, moment, rule.seen);
      if (!outcome.holds && rule.seen && &group != &rule.groups.front()) {
        continue;
      }
      if (!outcome.holds) {
        explanation.evidence_against.push_back(
            fmt::format("not {}: {}", rule.cause, outcome.lines.back()));
        return;
      }
      agree.insert(agree.end(), outcome.lines.begin(), outcome.lines.end());
    }
    if (explanation.cause == kCauseNotKnown) {
      explanation.cause = rule.cause;
      explanation.evidence_for = std::move(agree);
    }
  }

  /// Causes for which something tells, most signs first; one entry a cause.
  std::vector<Suspect> SuspectsFor(const MissingMoment& moment) {
    std::vector<Suspect> suspects;
    for (const CauseRule& rule : CauseRules()) {
      if (!AppliesTo(rule, moment.stage)) {
        continue;
      }
      Suspect suspect{rule.cause, {}, {}};
      bool telling = false;
      for (const SignGroup& group : rule.groups) {
        const GroupOutcome outcome = Try(group, moment, rule.seen);
        telling = telling || outcome.telling;
        auto& lines = outcome.holds ? suspect.speaks_for : suspect.not_proven;
        lines.insert(lines.end(), outcome.lines.begin(), outcome.lines.end());
      }
      const auto known = std::find_if(suspects.begin(), suspects.end(), [&](const Suspect& one) {
        return one.cause == suspect.cause;
      });
      if (telling && known == suspects.end()) {
        suspects.push_back(std::move(suspect));
      } else if (telling && suspect.speaks_for.size() > known->speaks_for.size()) {
        *known = std::move(suspect);
      }
    }
    std::stable_sort(suspects.begin(), suspects.end(), [](const Suspect& a, const Suspect& b) {
      return a.not_proven.size() < b.not_proven.size();
    });
    return suspects;
  }

  bool WriterIsMostlyHeldUp(const std::string& output) const {
    const auto own = input_.signs.find({Sign::kWriteBusy, output});
    if (own != input_.signs.end()) {
      return ShareAbove(own->second, kHeldUp) >= kSlowShare;
    }
    // A watched program: its writers are seen asleep at the ends of samples.
    const auto asleep = input_.signs.find({Sign::kWritersAsleep, ""});
    return asleep != input_.signs.end() && ShareAbove(asleep->second, kAsleep) >= kSlowShare;
  }

  const ExplainInput& input_;
  CleanLevels clean_;
};

}  // namespace

std::vector<Explanation> Explain(const ExplainInput& input) {
  Explainer explainer(input);
  std::vector<Explanation> explanations;
  explanations.reserve(input.moments.size());
  for (const MissingMoment& moment : input.moments) {
    explanations.push_back(explainer.Of(moment));
  }
  return explanations;
}

std::string ActionFor(const std::string& cause) {
  if (cause == kDiskTooSlow) {
    return "Record to a faster disk, split the recordings over disks, or lower the bit rates.";
  }
  for (const CauseRule& rule : CauseRules()) {
    if (cause == rule.cause) {
      return rule.action;
    }
  }
  return "Watch the PC during a longer rehearsal, with as little as possible beside it.";
}

}  // namespace report
