// SPDX-License-Identifier: Apache-2.0
//
// Why recordings lost pictures: moments and clean stretches of their tracks, in the log's time.

#include "report/explain/recording.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "report/explain/accounts.h"
#include "report/explain/advice.h"
#include "report/recordings/recording_limits.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using probes::TrackKind;
using probes::TrackTimes;

/// Holes this close share a moment, up to a length in which the PC's state may change.
constexpr double kJoinSeconds = 0.5;
constexpr double kLongestMoment = 4;
/// Encoders that start lose pictures in healthy runs too.
constexpr double kStartSeconds = 2;
constexpr double kGuardSeconds = 1;
/// What programs keep in hand at most, in our own trials.
constexpr double kKeptInHandSeconds = 8;
/// A hole and a step of the clock this close together may be the same.
constexpr double kStepNearSeconds = 1.5;
constexpr double kSameLength = 0.8;
/// Where the recording's place in the log is told less closely, the two are as long to this.
constexpr double kStepAlikeSeconds = 0.1;
constexpr double kMostStepNearSeconds = 5;

bool Judged(const TrackTimes& track) {
  return track.kind == TrackKind::kVideo &&
         (track.beat == probes::Beat::kConstant || track.missing > 0);
}

double Agreement(double one, double other) {
  const double more = std::max(std::fabs(one), std::fabs(other));
  return more > 0 ? std::max(0.0, 1 - std::fabs(one - other) / more) : 0;
}

/// Collects the moments of all recordings and what the engine needs of them.
class MomentTaker {
 public:
  MomentTaker(const RecordingCase& question, RecordingExplanation& answer, ExplainInput& input)
      : question_(question), answer_(answer), input_(input) {}

  void Take(std::size_t recording) {
    recording_ = recording;
    for (const TrackTimes& track : Document().recording.tracks) {
      if (Judged(track)) {
        TakeTrack(track);
      }
    }
    TakeEnd();
  }

 private:
  const RecordingDocument& Document() const { return question_.recordings[recording_]; }

  bool Placed() const {
    return question_.log && question_.places[recording_].by != PlacedBy::kNothing;
  }

  double LogTime(double at_s) const { return question_.places[recording_].at_s + at_s - shift_s_; }

  struct NearStep {
    double agreement = 0;  // how well a hole is a step of the wall clock that the log saw then
    double log_s = 0;      // when that was
  };

  NearStep FindStep(double at_s, double length_s) const {
    NearStep best;
    if (!Placed()) {
      return best;
    }
    const double near_s =
        std::min(kStepNearSeconds + question_.places[recording_].within_s, kMostStepNearSeconds);
    for (const probes::WatchClockStep& step : question_.log->clock_steps) {
      const double step_s = step.step_ms / 1000;
      const double off_s = std::fabs(step.at_s - LogTime(at_s));
      const bool near = off_s <= kStepNearSeconds ||
                        (off_s <= near_s && std::fabs(length_s - step_s) <= kStepAlikeSeconds);
      const double agreement = Agreement(length_s, step_s);
      if (near && agreement > best.agreement) {
        best = {agreement, step.at_s};
      }
    }
    return best;
  }

  /// Places are told to a second or so: the last moment is held against the signs of the step, too.
  void ReachStep(const NearStep& step, const TrackTimes& track, double at_s) {
    MissingMoment& place = input_.moments.back();
    if (step.agreement >= kSameLength) {
      place.from_s = std::min(place.from_s, step.log_s);
      place.to_s = std::max(place.to_s, step.log_s);
    }
    const double log_s = LogTime(at_s);
    Sign(report::Sign::kHoleIsStep, Output(track), std::min(log_s, place.from_s) - kStepNearSeconds,
         std::max(log_s, place.to_s) + 1, step.agreement);
  }

  void Add(const TrackTimes& track, double at_s, double length_s, std::int64_t missing,
           bench::Stage stage) {
    ExplainedMoment moment;
    moment.recording = recording_;
    moment.track = track.index;
    moment.at_s = at_s;
    moment.length_s = length_s;
    moment.stage = stage;
    moment.missing = missing;
    MissingMoment place;
    place.from_s = at_s;
    place.to_s = at_s + length_s;
    place.output = Output(track);
    place.stage = stage;
    place.frames = missing;
    place.runs = 1;
    place.last_s = at_s;
    if (Placed()) {
      moment.log_s = LogTime(at_s);
      place.from_s = *moment.log_s;
      place.to_s = place.from_s + length_s;
      place.within_s = question_.places[recording_].within_s;
    }
    answer_.moments.push_back(std::move(moment));
    input_.moments.push_back(std::move(place));
  }

  std::string Output(const TrackTimes& track) const {
    return fmt::format("{} track {}", Document().recording.name, track.index);
  }

  void Sign(report::Sign sign, const std::string& output, double from_s, double to_s,
            double value) {
    input_.signs[{sign, output}].push_back({from_s, to_s, value});
  }

  void TakeHole(const TrackTimes& track, const probes::TimeGap& gap) {
    const NearStep step = FindStep(gap.at_s, gap.length_s);
    const bool open = !answer_.moments.empty() && answer_.moments.back().recording == recording_ &&
                      answer_.moments.back().track == track.index && joins_;
    ExplainedMoment* last = open ? &answer_.moments.back() : nullptr;
    joins_ = step.agreement < kSameLength;
    if (last != nullptr && joins_ && gap.at_s <= last->at_s + last->length_s + kJoinSeconds &&
        gap.at_s + gap.length_s - last->at_s <= kLongestMoment) {
      MissingMoment& place = input_.moments.back();
      last->length_s = gap.at_s + gap.length_s - last->at_s;
      last->missing += gap.missing;
      place.to_s = place.from_s + last->length_s;
      place.frames += gap.missing;
      ++place.runs;
      place.last_s = gap.at_s;
      return;
    }
    Add(track, gap.at_s, joins_ ? gap.length_s : 0, gap.missing, bench::Stage::kNone);
    if (!joins_) {
      answer_.moments.back().jump_s = gap.length_s;
      ReachStep(step, track, gap.at_s);
      shift_s_ += gap.length_s;
    }
  }

  void TakeTrack(const TrackTimes& track) {
    shift_s_ = 0;
    joins_ = false;
    for (const probes::TimeGap& gap : track.gaps) {
      TakeHole(track, gap);
    }
    shift_s_ = 0;
    for (const probes::TimeStep& step : track.steps) {
      Add(track, step.at_s, 0, 0, bench::Stage::kNone);
      if (Placed()) {
        ReachStep(FindStep(step.at_s, step.by_s), track, step.at_s);
      }
    }
    if (Placed()) {
      TakeBeat(track);
    }
  }

  void TakeBeat(const TrackTimes& track) {
    const auto& patterns = Document().patterns;
    const auto pattern =
        std::find_if(patterns.begin(), patterns.end(),
                     [&](const TrackPattern& one) { return one.track == track.index; });
    if (pattern != patterns.end() && pattern->missing.shape == GapShape::kRegular) {
      Sign(report::Sign::kRegularBeat, Output(track), LogTime(track.first_s) - 2,
           LogTime(track.end_s) + 2, 1);
    }
  }

  /// The end is a moment of its own where the file lacks its proper one, was not closed (which some
  /// writers never do: then only a disk without room counts), or has just the length of a known
  /// limit.
  void TakeEnd() {
    const probes::Recording& recording = Document().recording;
    const bool cut = recording.ends == probes::FileEnd::kCut;
    const bool open = recording.ends == probes::FileEnd::kOpen;
    const double limit = recording.segments == 1 ? SizeLimitOf(recording.bytes) : 0;
    const auto track = std::find_if(recording.tracks.begin(), recording.tracks.end(), Judged);
    if (!Placed() || track == recording.tracks.end() || !(cut || open || limit >= kKnownLimit)) {
      return;
    }
    const std::string output = Output(*track);
    shift_s_ = 0;
    Add(*track, track->end_s, 0, 0, bench::Stage::kEnd);
    MissingMoment& place = input_.moments.back();
    place.to_s = place.from_s + kEndSeconds;
    const double from_s = place.from_s - 2;
    const double to_s = place.to_s + 2;
    Sign(report::Sign::kCutShort, output, from_s, to_s, cut ? 1 : open ? kNotClosed : 0);
    Sign(report::Sign::kRoundSize, output, from_s, to_s, limit);
  }

  /// Buffers are written until then, and a program that met an error ends.
  static constexpr double kEndSeconds = 2;

  const RecordingCase& question_;
  RecordingExplanation& answer_;
  ExplainInput& input_;
  std::size_t recording_ = 0;
  double shift_s_ = 0;  // by steps of the clock before
  bool joins_ = false;  // the next hole may join the last moment
};

/// Seconds of the log that recordings cover and that no moment is near. A program that keeps
/// pictures in hand loses the first of them long after what made it fall behind: that time is no
/// clean one.
std::vector<CleanStretch> CleanOf(const RecordingCase& question, const ExplainInput& input) {
  std::vector<CleanStretch> clean;
  for (std::size_t i = 0; i < question.recordings.size(); ++i) {
    const LogPlace& place = question.places[i];
    if (place.by == PlacedBy::kNothing) {
      continue;
    }
    const double end_s = place.at_s + question.recordings[i].recording.length_s;
    double from_s = place.at_s + kStartSeconds;
    std::vector<MissingMoment> moments = input.moments;
    std::sort(moments.begin(), moments.end(),
              [](const auto& a, const auto& b) { return a.from_s < b.from_s; });
    for (const MissingMoment& moment : moments) {
      const bool is_end = moment.stage == bench::Stage::kEnd;
      const double to_s =
          std::min(end_s, moment.from_s - (is_end ? kGuardSeconds : kKeptInHandSeconds));
      if (to_s - from_s >= 1) {
        clean.push_back({from_s, to_s});
      }
      from_s = std::max(from_s, moment.to_s + kGuardSeconds);
    }
    if (end_s - from_s >= 1) {
      clean.push_back({from_s, end_s});
    }
  }
  return clean;
}

CpuCount CpusOf(const probes::WatchLog& log) {
  CpuCount count;
  count.all = std::max(1, log.head.cpus);
  count.usable = count.all;
  for (const probes::WatchProgram& program : log.programs) {
    if (program.usable_cpus && *program.usable_cpus > 0) {
      count.usable = std::min(count.all, *program.usable_cpus);
    }
  }
  return count;
}

int Badness(RecordingVerdict verdict) {
  return verdict == RecordingVerdict::kPartsMissing ? 2
         : verdict == RecordingVerdict::kUnproven   ? 1
                                                    : 0;
}

/// A place that took no more lost all that would have followed, and comes first. A program that
/// ended may have been told to: it comes behind the causes that are known to have lost pictures.
void Rank(std::vector<DropCause>& causes) {
  std::stable_sort(causes.begin(), causes.end(), [](const DropCause& one, const DropCause& other) {
    const auto place = [](const DropCause& cause) {
      const bool end = std::find(cause.stages.begin(), cause.stages.end(), bench::Stage::kEnd) !=
                       cause.stages.end();
      return cause.cause == kClockStep             ? 4  // lost nothing
             : cause.cause == kCauseNotKnown       ? 3
             : end && cause.cause != kProgramEnded ? 0
             : cause.frames > 0                    ? 1
                                                   : 2;
    };
    return place(one) < place(other);
  });
}

/// An end that nothing explains, and that lost nothing that is known of, is no cause.
void DropUnknownEnds(RecordingExplanation& answer, ExplainInput& input,
                     std::vector<Explanation>& explanations) {
  for (std::size_t i = answer.moments.size(); i-- > 0;) {
    if (answer.moments[i].stage == bench::Stage::kEnd && explanations[i].cause == kCauseNotKnown) {
      const auto at = static_cast<std::ptrdiff_t>(i);
      answer.moments.erase(answer.moments.begin() + at);
      input.moments.erase(input.moments.begin() + at);
      explanations.erase(explanations.begin() + at);
    }
  }
}

/// The recording without holes that are jumps of its times, judged anew.
RecordingDocument WithoutJumps(const RecordingDocument& document, std::size_t index,
                               const std::vector<ExplainedMoment>& moments) {
  probes::Recording recording = document.recording;
  bool any = false;
  for (const ExplainedMoment& moment : moments) {
    if (moment.recording != index || moment.jump_s <= 0) {
      continue;
    }
    for (TrackTimes& track : recording.tracks) {
      const auto gap =
          std::find_if(track.gaps.begin(), track.gaps.end(),
                       [&](const probes::TimeGap& one) { return one.at_s == moment.at_s; });
      if (track.index == moment.track && gap != track.gaps.end()) {
        track.missing -= gap->missing;
        track.due -= gap->missing;
        track.missing_in_part.at(probes::PartOf(track, gap->at_s)) -= gap->missing;
        track.gap_seconds -= gap->length_s;
        --track.gap_count;
        track.gaps.erase(gap);
        any = true;
      }
    }
  }
  if (!any) {
    return document;
  }
  RecordingDocument judged = JudgeRecording(std::move(recording));
  judged.headline += "; its times jump where the clock was set";
  return judged;
}

/// Where the log saw the clock set nothing is missing, however long the hole in the times.
void TakeOutJumps(const RecordingCase& question, RecordingExplanation& answer, ExplainInput& input,
                  const std::vector<Explanation>& explanations) {
  for (std::size_t i = 0; i < explanations.size(); ++i) {
    ExplainedMoment& moment = answer.moments[i];
    if (explanations[i].cause == kClockStep) {
      moment.missing = 0;
      input.moments[i].frames = 0;
    } else {
      moment.jump_s = 0;
    }
  }
  answer.verdict = RecordingVerdict::kNothingMissing;
  for (std::size_t i = 0; i < question.recordings.size(); ++i) {
    answer.recordings.push_back(WithoutJumps(question.recordings[i], i, answer.moments));
    const RecordingVerdict verdict = answer.recordings.back().verdict;
    answer.verdict = Badness(verdict) > Badness(answer.verdict) ? verdict : answer.verdict;
  }
}

/// Suspects of the moments without a known cause, those of most missing frames first.
std::vector<RecordingSuspect> SuspectsOf(const RecordingExplanation& answer) {
  std::vector<RecordingSuspect> suspects;
  std::vector<std::int64_t> most;  // missing in the moment whose evidence is shown
  for (const ExplainedMoment& moment : answer.moments) {
    for (const Suspect& suspect : moment.explanation.suspects) {
      const auto at = std::find_if(
          suspects.begin(), suspects.end(),
          [&](const RecordingSuspect& one) { return one.suspect.cause == suspect.cause; });
      if (at == suspects.end()) {
        suspects.push_back({suspect, moment.missing, 1});
        most.push_back(moment.missing);
        continue;
      }
      at->missing += moment.missing;
      ++at->moments;
      std::int64_t& shown = most[static_cast<std::size_t>(at - suspects.begin())];
      if (moment.missing > shown) {
        at->suspect = suspect;
        shown = moment.missing;
      }
    }
  }
  std::stable_sort(suspects.begin(), suspects.end(),
                   [](const auto& a, const auto& b) { return a.missing > b.missing; });
  return suspects;
}

/// Times in the accounts are the log's; people look into the recording.
void TellInRecordingTime(RecordingExplanation& answer) {
  for (DropCause& cause : answer.causes) {
    bool first = true;
    for (const ExplainedMoment& moment : answer.moments) {
      if (moment.explanation.cause != cause.cause) {
        continue;
      }
      cause.first_s = first ? moment.at_s : std::min(cause.first_s, moment.at_s);
      cause.last_s = first ? moment.at_s : std::max(cause.last_s, moment.at_s);
      first = false;
    }
  }
}

}  // namespace

RecordingExplanation ExplainRecordings(const RecordingCase& question) {
  RecordingExplanation answer;
  ExplainInput input;
  if (question.log) {
    input.cpus = CpusOf(*question.log);
    input.signs = SignsOf(question.telemetry, input.cpus);
    AddWatchSigns(*question.log, input.signs);
  }
  MomentTaker taker(question, answer, input);
  for (std::size_t i = 0; i < question.recordings.size(); ++i) {
    taker.Take(i);
  }
  if (question.log) {
    input.clean = CleanOf(question, input);
  }
  std::vector<Explanation> explanations(input.moments.size());
  if (question.log) {
    explanations = Explain(input);
  }
  DropUnknownEnds(answer, input, explanations);
  TakeOutJumps(question, answer, input, explanations);
  answer.causes = AccountCauses(input.moments, explanations, question.telemetry);
  Rank(answer.causes);
  for (std::size_t i = 0; i < explanations.size(); ++i) {
    answer.moments[i].explanation = std::move(explanations[i]);
  }
  TellInRecordingTime(answer);
  answer.suspects = SuspectsOf(answer);
  answer.signs = std::move(input.signs);
  answer.first_cause = answer.causes.empty() ? "" : answer.causes.front().cause;
  answer.pattern_says = PatternSays(answer.recordings);
  answer.next_time = NextTime(question, answer);
  answer.headline = Headline(question, answer);
  return answer;
}

}  // namespace report
