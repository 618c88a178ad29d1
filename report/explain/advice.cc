// SPDX-License-Identifier: Apache-2.0
//
// Sentences round an explanation.

#include "report/explain/advice.h"

#include <algorithm>

#include <fmt/format.h>

#include "report/words/quantities.h"

namespace report {
namespace {

std::string ShapeAllows(const GapPattern& pattern) {
  switch (pattern.shape) {
    case GapShape::kRegular:
      return "One beat beside another: looks like rates that do not match" +
             (pattern.rates.empty() ? std::string() : ", " + pattern.rates) +
             ". Only a log can show that the PC was at ease meanwhile.";
    case GapShape::kEndOnly:
      return "Only the end is missing: a disk that is full, a limit of file sizes, a camera or "
             "disk that was unplugged, or a program that ended. The file alone cannot tell which.";
    case GapShape::kStartOnly:
      return "Frames are missing only at the start: encoders that start do that, and it is no "
             "fault of "
             "the PC's when it never comes again.";
    case GapShape::kRamp:
      return "Losses that grow: a PC that gets slower (heat, a quota, memory) or work that gets "
             "more. The pattern alone cannot tell which.";
    case GapShape::kThroughout:
      return "Heavy losses from start to end: something is too small all the time: CPU, encoder, "
             "disk or network. The pattern alone cannot tell which.";
    case GapShape::kBursts:
      return "Several frames at a time, and clean time around: something stood still for "
             "moments: a disk, memory, the program, the whole PC. The pattern alone cannot tell "
             "which.";
    case GapShape::kScattered:
      return "Single frames here and there: cables and USB, the network, interrupts, or short "
             "of CPU now and then. The pattern alone cannot tell which.";
    case GapShape::kNone:
      break;
  }
  return "";
}

bool AnyPlaced(const RecordingCase& question) {
  return std::any_of(question.places.begin(), question.places.end(),
                     [](const LogPlace& place) { return place.by != PlacedBy::kNothing; });
}

std::int64_t MissingOf(const RecordingExplanation& answer) {
  std::int64_t missing = 0;
  for (const ExplainedMoment& moment : answer.moments) {
    missing += moment.missing;
  }
  return missing;
}

void AskForSigns(const probes::WatchLog& log, std::vector<std::string>& next) {
  if (!log.kernel_lines_read) {
    next.push_back("The kernel's log could not be read (" + log.kernel_lines_read.why_unknown() +
                   "): watch as a user who may, and errors of USB and disks show.");
  }
  const bool known =
      std::any_of(log.programs.begin(), log.programs.end(),
                  [](const probes::WatchProgram& program) { return program.as_asked; });
  if (!known) {
    next.push_back("Name the mixing software with --program: the log took the busiest one for it.");
  }
  const bool grows =
      std::any_of(log.samples.begin(), log.samples.end(), [](const probes::WatchSample& sample) {
        return sample.recording_bytes_per_second.has_value();
      });
  if (!grows) {
    next.push_back(
        "Watch as the user who runs the mixing software: then the log also tells how "
        "recordings grow, and which writers wait.");
  }
  for (const std::string& line : log.not_read) {
    if (next.size() < 8) {
      next.push_back("Not sampled: " + line);
    }
  }
}

}  // namespace

std::vector<std::string> PatternSays(const std::vector<RecordingDocument>& recordings) {
  std::vector<std::string> lines;
  for (const RecordingDocument& document : recordings) {
    for (const TrackPattern& pattern : document.patterns) {
      const std::string allows = ShapeAllows(pattern.missing);
      if (!allows.empty()) {
        lines.push_back(fmt::format("{}, track {}: {} ({}.)", document.recording.name,
                                    pattern.track, allows, pattern.missing.decided_by));
      }
    }
  }
  return lines;
}

std::vector<std::string> NextTime(const RecordingCase& question,
                                  const RecordingExplanation& answer) {
  std::vector<std::string> next;
  if (answer.moments.empty()) {
    return next;
  }
  if (!question.log) {
    next.push_back(
        "Let rigproof watch --into LOG run beside the next production, from before its "
        "recording until after it: without a log no part of the PC can be blamed.");
    return next;
  }
  if (!AnyPlaced(question)) {
    next.push_back(
        "Begin the watch before the recording and end it after, and bring the file as "
        "it was written: copies lose the time at which they were recorded. Or say where "
        "the recording begins with --begins.");
    return next;
  }
  if (answer.first_cause == kCauseNotKnown) {
    AskForSigns(*question.log, next);
    next.push_back(
        "Run line-check on the capture devices: what is dropped before the PC gets it "
        "(camera, cable, USB) shows there and in no sign of this log.");
  }
  return next;
}

std::string WatchedProgram(const probes::WatchLog& log) {
  for (auto program = log.programs.rbegin(); program != log.programs.rend(); ++program) {
    if (!program->name.empty()) {
      return program->name;
    }
  }
  return "";
}

std::string Explains(const DropCause& cause) {
  if (cause.frames > 0) {
    return fmt::format("{} in {}, {:.1f} s to {:.1f} s of the recording",
                       Plural(cause.frames, "missing frame"), Plural(cause.runs, "hole"),
                       cause.first_s, cause.last_s);
  }
  return fmt::format(
      "{}, at {:.1f} s of the recording",
      cause.cause == kClockStep ? "a jump of the times, no frame" : "no frame that can be counted",
      cause.first_s);
}

std::string LengthText(const ExplainedMoment& moment) {
  if (moment.stage == bench::Stage::kEnd) {
    return "the end";
  }
  return moment.jump_s > 0 ? fmt::format("a jump of {:.3f} s", moment.jump_s)
                           : fmt::format("{:.3f} s", moment.length_s);
}

std::string SuspectLine(const RecordingSuspect& suspect) {
  return fmt::format("{} (may explain {} in {})", suspect.suspect.cause,
                     Plural(suspect.missing, "missing frame"), Plural(suspect.moments, "moment"));
}

std::string Headline(const RecordingCase& question, const RecordingExplanation& answer) {
  if (answer.moments.empty()) {
    return answer.recordings.size() == 1 ? answer.recordings.front().headline
                                         : "no hole to explain in the recordings";
  }
  const std::string missing = Plural(MissingOf(answer), "missing frame");
  if (!question.log) {
    return missing + "; without a log the pattern alone speaks, and it names no cause";
  }
  if (!AnyPlaced(question)) {
    return missing + "; not known why: where the recording lies in the log is not known";
  }
  const DropCause& first = answer.causes.front();
  if (first.cause == kCauseNotKnown) {
    return missing + "; not known why: " +
           (answer.suspects.empty()
                ? std::string("no two independent signs agree with them")
                : "suspected, not proven: " + answer.suspects.front().suspect.cause);
  }
  if (first.frames == 0) {
    return first.cause + (first.cause == kClockStep ? "; nothing is missing, the times jump"
                          : MissingOf(answer) > 0   ? "; " + missing + " before"
                                                    : "");
  }
  return fmt::format("{}: {} of {}", first.cause, FormatCount(first.frames), missing);
}

}  // namespace report
