// SPDX-License-Identifier: Apache-2.0
//
// What the rehearsal showed.

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "report/explain/explain.h"
#include "report/loads/subjects.h"
#include "report/rules/rules.h"
#include "report/words/figures.h"

namespace report::rules {
namespace {

using bench::Stage;

struct StageDrops {
  Stage stage = Stage::kNone;
  std::int64_t frames = 0;
  double first_s = 0;
  double last_s = 0;
  std::map<std::string, std::int64_t> outputs;
  std::map<std::string, std::int64_t> causes;
  std::vector<std::string> runs;
};

/// Most frames first.
std::vector<StageDrops> ByStage(const bench::Rehearsal& rehearsal) {
  constexpr std::size_t kRunsShown = 5;
  std::map<Stage, StageDrops> stages;
  for (const bench::DropRun& drop : rehearsal.drops) {
    if (drop.at_s < rehearsal.warm_up_seconds) {
      continue;
    }
    StageDrops& stage = stages[drop.stage];
    stage.first_s = stage.frames == 0 ? drop.at_s : std::min(stage.first_s, drop.at_s);
    stage.last_s = std::max(stage.last_s, drop.at_s);
    stage.frames += drop.frames;
    stage.outputs[drop.output] += drop.frames;
    stage.causes[drop.cause] += drop.frames;
    if (stage.runs.size() < kRunsShown) {
      stage.runs.push_back(fmt::format("at {:.1f} s: {} of {}", drop.at_s,
                                       CountText(drop.frames, "frame", "frames"),
                                       base::Printable(drop.output)));
    }
  }
  std::vector<StageDrops> sorted;
  for (auto& [one, stage] : stages) {
    stage.stage = one;
    sorted.push_back(std::move(stage));
  }
  std::stable_sort(sorted.begin(), sorted.end(),
                   [](const StageDrops& a, const StageDrops& b) { return a.frames > b.frames; });
  return sorted;
}

/// Frames that neither a cause nor other programs explain: only for them is the stage to blame.
std::int64_t Unexplained(const StageDrops& drops, const FairTest& fair) {
  std::int64_t unknown = 0;
  for (const auto& [cause, frames] : drops.causes) {
    unknown += cause.empty() || cause == kCauseNotKnown ? frames : 0;
  }
  const std::int64_t judged = fair.dropped_for_lack + fair.dropped_anyway;
  if (judged <= 0) {
    return unknown;
  }
  return std::llround(static_cast<double>(unknown) * static_cast<double>(fair.dropped_anyway) /
                      static_cast<double>(judged));
}

std::string AdviceFor(Stage stage) {
  switch (stage) {
    case Stage::kEncode:
      return "Lower the effort, raster, rate or number of encodes, or use a hardware encoder.";
    case Stage::kWrite:
      return "Record to a faster disk, split the recordings over disks, or lower the bit rates.";
    case Stage::kSend:
      return "Lower the stream's bit rate, or repair the way it takes.";
    case Stage::kReceive:
      return "Allow larger receive buffers (`sysctl net.core.rmem_max`), lower the bit rate of the "
             "network sources, or free CPU: packets came faster than they were taken.";
    case Stage::kDecode:
      return "Lower the raster or rate of the network sources, or use a hardware decoder.";
    case Stage::kCapture:
      return "Lower the number of sources, their raster or rate: the PC does not keep up with "
             "taking "
             "them in.";
    default:
      break;
  }
  return "Lower the program's or multiview's raster or rate, or the number of sources.";
}

}  // namespace

void DroppedFrames(const RuleInput& input, std::vector<Finding>& findings) {
  const auto& rehearsal = input.facts.results().rehearsal;
  if (!rehearsal || input.facts.run->Dropped() == 0) {
    return;
  }
  const Severity severity = input.facts.run->Permitted() ? Severity::kWarn : Severity::kStop;
  std::int64_t told = 0;
  for (const StageDrops& drops : ByStage(*rehearsal)) {
    Finding finding = NewFinding(fmt::format("drops-{}", base::WordOf(drops.stage)), severity);
    finding.title = fmt::format(
        "{} dropped at the {} stage, {}", CountText(drops.frames, "frame was", "frames were"),
        base::WordOf(drops.stage),
        drops.first_s == drops.last_s
            ? fmt::format("at {:.1f} s", drops.first_s)
            : fmt::format("between {:.1f} s and {:.1f} s", drops.first_s, drops.last_s));
    for (const auto& [cause, frames] : drops.causes) {
      finding.evidence.push_back(fmt::format("cause {}: {}", base::Printable(cause),
                                             CountText(frames, "frame", "frames")));
    }
    finding.evidence.insert(finding.evidence.end(), drops.runs.begin(), drops.runs.end());
    finding.lost_frames = Unexplained(drops, input.fair_test);
    finding.action = finding.lost_frames > 0 ? AdviceFor(drops.stage) : "";
    for (const auto& [output, frames] : drops.outputs) {
      finding.about.push_back(OutputSubject(output));
    }
    findings.push_back(finding);
    told += drops.frames;
  }
  if (told == 0) {
    findings.push_back(
        {.id = "drops-unplaced",
         .severity = severity,
         .title = CountText(input.facts.run->Dropped(), "frame was dropped", "frames were dropped"),
         .evidence = {"the ledger counts them and names no stage"},
         .action = AdviceFor(Stage::kEncode),
         .lost_frames = input.facts.run->Dropped()});
  } else if (rehearsal->drop_runs_left_out > 0) {
    findings.back().evidence.push_back(
        fmt::format("{} more runs of drops are not listed", rehearsal->drop_runs_left_out));
  }
}

void RehearsalCutShort(const RuleInput& input, std::vector<Finding>& findings) {
  const auto& rehearsal = input.facts.results().rehearsal;
  if (!rehearsal || rehearsal->complete) {
    return;
  }
  Finding finding = NewFinding("rehearsal-incomplete", Severity::kWarn);
  finding.title = rehearsal->outputs.empty() ? std::string("The rehearsal could not start")
                                             : fmt::format("The rehearsal ended after {}",
                                                           base::FormatSeconds(rehearsal->seconds));
  finding.evidence.push_back(rehearsal->stopped_because.empty()
                                 ? std::string("no reason given")
                                 : base::Printable(rehearsal->stopped_because));
  finding.action = "Mend the reason, then run it again to its end.";
  findings.push_back(finding);
}

void OutputFailed(const RuleInput& input, std::vector<Finding>& findings) {
  const auto& rehearsal = input.facts.results().rehearsal;
  if (!rehearsal) {
    return;
  }
  for (const bench::OutputLedger& output : rehearsal->outputs) {
    if (output.failure.empty()) {
      continue;
    }
    findings.push_back({.id = "output-failed",
                        .severity = Severity::kWarn,
                        .title = fmt::format("Output {} ended early", base::Printable(output.name)),
                        .evidence = {base::Printable(output.failure)},
                        .action = "Mend the reason, then run again.",
                        .about = {OutputSubject(output.name)}});
  }
}

void LateFrames(const RuleInput& input, std::vector<Finding>& findings) {
  // Common practice: one frame in a hundred may be late before it is felt.
  constexpr double kShare = 0.01;
  const auto& rehearsal = input.facts.results().rehearsal;
  if (!rehearsal) {
    return;
  }
  for (const bench::OutputLedger& output : rehearsal->outputs) {
    if (output.delivered <= 0 ||
        static_cast<double>(output.late) / static_cast<double>(output.delivered) <= kShare) {
      continue;
    }
    Finding finding = NewFinding("frames-late", Severity::kNote);
    finding.title = fmt::format(
        "{:.1f} % of the frames of {} came more than one frame period late",
        100.0 * static_cast<double>(output.late) / static_cast<double>(output.delivered),
        base::Printable(output.name));
    finding.about = {OutputSubject(output.name)};
    finding.evidence.push_back(
        fmt::format("lateness: half below {:.1f} ms, 99 % below {:.1f} ms, "
                    "worst {:.1f} ms",
                    output.lateness.p50_ms, output.lateness.p99_ms, output.lateness.max_ms));
    finding.action =
        "A recording does not suffer from this; for a stream with little delay, lower the effort.";
    findings.push_back(finding);
  }
}

void MemoryOffPrediction(const RuleInput& input, std::vector<Finding>& findings) {
  constexpr double kOffPercent = 20;
  const auto& rehearsal = input.facts.results().rehearsal;
  if (!rehearsal || rehearsal->peak_resident_bytes <= 0 ||
      rehearsal->predicted_resident_bytes <= 0) {
    return;
  }
  const auto measured = static_cast<double>(rehearsal->peak_resident_bytes);
  const auto computed = static_cast<double>(rehearsal->predicted_resident_bytes);
  const double off = (measured - computed) / computed * 100;
  if (std::fabs(off) <= kOffPercent) {
    return;
  }
  Finding finding = NewFinding("memory-prediction", Severity::kNote);
  finding.title =
      fmt::format("The rehearsal took {} memory than computed", off > 0 ? "more" : "less");
  finding.evidence.push_back(fmt::format("{} at its peak, {} computed ({:+.0f} %)",
                                         base::FormatBytes(measured), base::FormatBytes(computed),
                                         off));
  finding.action = "Trust the measured figure for this profile; computed ones are off by as much.";
  findings.push_back(finding);
}

}  // namespace report::rules
