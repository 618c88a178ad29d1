// SPDX-License-Identifier: Apache-2.0

#include "report/explain.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include <fmt/format.h>

#include "base/percentile.h"
#include "report/explain_rules.h"
#include "report/quantities.h"

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

double LevelOf(const Points& points, double from_s, double to_s, Take take, bool& known) {
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
  return !known ? 0 : take == Take::kMean ? sum / weight : extreme;
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
      const double value = points == signs_.end() ? 0
                                                  : LevelOf(points->second, stretch.from_s,
                                                            stretch.to_s, test.take, read);
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
  std::string text;
};

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
bool AppliesTo(const CauseRule& rule, const std::string& stage) {
  return rule.stages.empty()
             ? stage != kEndStage
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
    if (explanation.cause == kDiskStall && WriterIsMostlyHeldUp(moment.output)) {
      explanation.cause = kDiskTooSlow;
      explanation.evidence_for.push_back(
          "the writer was held up most of the run, not now and then");
    }
    return explanation;
  }

 private:
  Outcome Test(const SignTest& test, const MissingMoment& moment) {
    const std::pair<Sign, std::string> key{test.sign, PerOutput(test.sign) ? moment.output : ""};
    const auto points = input_.signs.find(key);
    const SignWords& words = WordsOf(test.sign);
    Outcome outcome;
    double at = 0;
    if (points != input_.signs.end()) {
      at = LevelOf(points->second, moment.from_s - kQueueSeconds, moment.to_s + kAfterSeconds,
                   test.take, outcome.read);
    }
    if (!outcome.read) {
      outcome.text = fmt::format("{}: not sampled", words.name);
      return outcome;
    }
    const auto away = clean_.Typical(key, test);
    const double sign = test.bound == Bound::kAtLeast ? 1 : -1;
    const double limit = !away && std::isfinite(test.limit_alone) ? test.limit_alone : test.limit;
    outcome.holds = sign * (at - limit) >= 0 && (!away || sign * (at - *away) >= test.contrast);
    outcome.text = fmt::format("{} {}{}", words.name, FormatNumber(at * words.scale), words.unit);
    outcome.text += away ? fmt::format(" at the loss, {}{} in moments without one",
                                       FormatNumber(*away * words.scale), words.unit)
                         : " at the loss; no moment without one to compare with";
    return outcome;
  }

  /// Whether one of the group holds; `lines` gets those that do, or the first that could be read.
  bool Holds(const SignGroup& group, const MissingMoment& moment, std::vector<std::string>& lines) {
    bool any = false;
    std::string failed;
    for (const SignTest& test : group) {
      const Outcome outcome = Test(test, moment);
      if (outcome.holds) {
        any = true;
        lines.push_back(outcome.text);
      } else if (failed.empty() || outcome.read) {
        failed = failed.empty() || failed.ends_with("not sampled") ? outcome.text : failed;
      }
    }
    if (!any) {
      lines.push_back(failed);
    }
    return any;
  }

  void Judge(const CauseRule& rule, const MissingMoment& moment, Explanation& explanation) {
    if (!AppliesTo(rule, moment.stage)) {
      return;
    }
    std::vector<std::string> agree;
    for (const SignGroup& group : rule.groups) {
      std::vector<std::string> lines;
      if (!Holds(group, moment, lines)) {
        explanation.evidence_against.push_back(fmt::format("not {}: {}", rule.cause, lines.back()));
        return;
      }
      agree.insert(agree.end(), lines.begin(), lines.end());
    }
    if (explanation.cause == kCauseNotKnown) {
      explanation.cause = rule.cause;
      explanation.evidence_for = std::move(agree);
    }
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
