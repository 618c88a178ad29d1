// SPDX-License-Identifier: Apache-2.0
//
// rigproof explain: which part of the PC lost the pictures of recordings.

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <limits>
#include <string>
#include <vector>

#include "base/text.h"
#include "cli/commands/run.h"
#include "cli/options/version.h"
#include "cli/system/interrupt.h"
#include "cli/system/outcome.h"
#include "cli/system/output_style.h"
#include "cli/system/progress.h"
#include "cli/system/write_file.h"
#include "probes/recording/read_recording.h"
#include "probes/watch_log/log.h"
#include "report/explain/recording.h"
#include "report/show/html/sheet.h"
#include "report/show/rows/explanation.h"
#include "report/show/terminal/blocks.h"

namespace cli {
namespace {

/// Of the log on either side of the recordings.
constexpr double kAroundSeconds = 30;

base::Result<std::vector<report::RecordingDocument>> ReadAll(const Options& options,
                                                             ProgressDisplay& progress) {
  const Interrupt interrupt;  // what was read of them is kept; all that follows may simply end
  std::vector<report::RecordingDocument> documents;
  for (const std::string& name : options.recordings) {
    progress.Begin("reading " + base::Printable(name, 60), 0);
    const probes::RecordingRequest request{name, {std::filesystem::path(name)}, false};
    auto read = probes::ReadRecording(request, interrupt.Token(),
                                      [&](double done_s, std::int64_t /*bytes*/) {
                                        progress.Note(base::FormatSeconds(std::max(0.0, done_s)));
                                      });
    progress.End();
    if (!read) {
      return read.error();
    }
    documents.push_back(report::JudgeRecording(*std::move(read)));
  }
  return documents;
}

std::vector<report::ClockPlace> ClockPlaces(const probes::Recording& recording,
                                            const probes::WatchLog& log) {
  std::vector<report::ClockPlace> places;
  for (const probes::WallClockStart& start : recording.started) {
    report::ClockPlace place;
    place.start = start;
    constexpr double kNsPerSecond = 1e9;
    constexpr double kMost = 9e9;  // the year 2255
    if (start.unix_s > 0 && start.unix_s < kMost) {
      place.log_s = probes::LogTimesOfWall(
          log, static_cast<std::int64_t>(std::llround(start.unix_s * kNsPerSecond)));
      // Begun before the log did: as far before it as the clock tells.
      const double early_s = (static_cast<double>(probes::WallOfLogTime(log, log.begins_s)) -
                              start.unix_s * kNsPerSecond) /
                             kNsPerSecond;
      if (place.log_s.empty() && early_s > 0 && early_s < recording.length_s) {
        place.log_s.push_back(log.begins_s - early_s);
      }
    }
    places.push_back(std::move(place));
  }
  return places;
}

base::Status AddLog(const Options& options, report::RecordingCase& question) {
  report::OutlineTaker taker;
  const auto whole = probes::StreamWatchLog(
      options.log, {}, [&](const probes::WatchSample& sample) { taker.Take(sample); });
  if (!whole) {
    return whole.error();
  }
  const report::LogOutline outline = taker.Give();
  probes::WatchRange range{std::numeric_limits<double>::infinity(),
                           -std::numeric_limits<double>::infinity(), 200'000};
  for (const report::RecordingDocument& document : question.recordings) {
    const report::LogPlace place = report::PlaceRecording(
        document, ClockPlaces(document.recording, *whole), outline, options.begins_s);
    if (place.by != report::PlacedBy::kNothing) {
      range.from_s = std::min(range.from_s, place.at_s - kAroundSeconds);
      range.to_s = std::max(range.to_s, place.at_s + document.recording.length_s + kAroundSeconds);
    }
    question.places.push_back(place);
  }
  auto log = probes::ReadWatchLog(options.log, range);
  if (!log) {
    return log.error();
  }
  question.log_name = options.log;
  question.telemetry = probes::RecordOfWatch(*log);
  question.log = *std::move(log);
  return base::Done{};
}

}  // namespace

base::Result<int> RunExplain(const Options& options) {
  report::RecordingCase question;
  question.program_version = ProgramVersion();
  {
    ProgressDisplay progress(StyleForStandardError(options.quiet));
    auto documents = ReadAll(options, progress);
    if (!documents) {
      return documents.error();
    }
    question.recordings = *std::move(documents);
  }
  if (!options.log.empty()) {
    if (auto added = AddLog(options, question); !added) {
      return added.error();
    }
  }
  const report::RecordingExplanation answer = report::ExplainRecordings(question);
  if (!options.page.empty()) {
    const auto written = WriteFileWhole(options.page, report::ExplanationPage(question, answer));
    if (!written) {
      return written.error();
    }
  }
  const auto printed = PrintOut(
      options.json ? report::ExplanationJson(question, answer)
                   : report::WriteSheets({report::SheetOf(question, answer)}, OutputStyle()));
  if (!printed) {
    return printed.error();
  }
  return report::ExitStatus(answer.verdict);
}

}  // namespace cli
