// SPDX-License-Identifier: Apache-2.0

#include "report/stored/older_result.h"

#include <string>
#include <vector>

#include "base/text.h"
#include "profiles/words.h"

namespace report::stored {
namespace {

using bench::Stage;

/// Rasters are below this, and their pixels countable.
constexpr int kMostPixelsASide = 100'000;

bool ReadRaster(std::string_view word, bench::CostSubject& subject) {
  const std::size_t by = word.find('x');
  if (by == std::string_view::npos) {
    return false;
  }
  const auto width = base::ParseInt(word.substr(0, by));
  const auto height = base::ParseInt(word.substr(by + 1));
  if (!width || !height || *width <= 0 || *height <= 0 || *width > kMostPixelsASide ||
      *height > kMostPixelsASide) {
    return false;
  }
  subject.width = static_cast<int>(*width);
  subject.height = static_cast<int>(*height);
  return true;
}

/// Raster and encoder, then effort, content, and rate, as far as they are told.
bool ReadEncode(const std::vector<std::string_view>& words, bench::CostSubject& subject) {
  subject.form = words[1];
  if (words.size() > 2) {
    subject.effort = base::FromWord<profiles::Effort>(words[2]);
  }
  if (words.size() > 3) {
    subject.content = base::FromWord<profiles::Content>(words[3]);
  }
  if (words.size() > 4) {
    const auto kbps = base::ParseInt(words[4]);
    subject.bitrate_kbps = kbps && *kbps > 0 ? static_cast<int>(*kbps) : 0;
  }
  return (words.size() < 3 || subject.effort) && (words.size() < 4 || subject.content) &&
         (words.size() < 5 || subject.bitrate_kbps > 0);
}

std::optional<std::string> ToldOf(const std::vector<std::string>& not_read, std::string_view what) {
  const std::string begin = std::string(what) + ": ";
  for (const std::string& line : not_read) {
    if (line.starts_with(begin)) {
      return line;
    }
  }
  return std::nullopt;
}

void FillIn(probes::TelemetryRecord& record) {
  if (!record.cpu_use_not_read && !record.own_cpu_use_not_read) {
    record.cpu_use_not_read = ToldOf(record.not_read, "CPU use");
    record.own_cpu_use_not_read = ToldOf(record.not_read, "own CPU use");
  }
}

}  // namespace

std::optional<bench::CostSubject> SubjectOfDetail(Stage stage, std::string_view detail) {
  const std::vector<std::string_view> words = base::SplitWords(detail);
  bench::CostSubject subject;
  if (stage == Stage::kAudio) {
    subject.form = bench::kSoundForm;
    return !words.empty() && words[0] == subject.form ? std::optional(subject) : std::nullopt;
  }
  if (words.size() < 2 || !ReadRaster(words[0], subject)) {
    return std::nullopt;
  }
  switch (stage) {
    case Stage::kCopy:
    case Stage::kConvert:
    case Stage::kDecode:
      subject.form = words[1];
      return subject;
    case Stage::kCompose:
    case Stage::kMultiview:
    case Stage::kScale:
      return subject;
    case Stage::kEncode:
    case Stage::kEncodeHarder:
      return ReadEncode(words, subject) ? std::optional(subject) : std::nullopt;
    default:
      return std::nullopt;
  }
}

void FillInOlder(Evidence& evidence) {
  if (evidence.results.costs) {
    for (bench::CostEntry& entry : evidence.results.costs->entries) {
      if (!entry.of) {
        entry.of = SubjectOfDetail(entry.stage, entry.detail);
      }
    }
  }
  for (auto* const record : {&evidence.before, &evidence.telemetry, &evidence.ballast_telemetry}) {
    if (*record) {
      FillIn(**record);
    }
  }
}

}  // namespace report::stored
