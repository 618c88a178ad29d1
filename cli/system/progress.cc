// SPDX-License-Identifier: Apache-2.0
//
// The bar, the records, and the thread that writes them anew.

#include "cli/system/progress.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <utility>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "base/clock.h"
#include "base/text.h"
#include "cli/system/terminal.h"

namespace cli {
namespace {

constexpr auto kRedraw = std::chrono::milliseconds(200);
constexpr auto kRecordEvery = std::chrono::milliseconds(500);
constexpr int kBarCells = 24;
constexpr std::string_view kClearLine = "\r\x1b[K";

std::int64_t NowNs() {
  return base::SystemClock().NowNs();
}

void ToStandardError(std::string_view text) {
  std::fwrite(text.data(), 1, text.size(), stderr);
  std::fflush(stderr);
}

std::string WholeSeconds(double seconds) {
  const double whole = std::floor(std::max(0.0, seconds));
  return whole < 60 ? fmt::format("{:.0f} s", whole) : base::FormatSeconds(whole);
}

}  // namespace

ProgressStyle StyleForStandardError(bool quiet, bool records) {
  if (quiet) {
    return ProgressStyle::kNone;
  }
  if (records) {
    return ProgressStyle::kRecords;
  }
  return IsTerminal(Stream::kError) ? ProgressStyle::kBar : ProgressStyle::kLines;
}

std::string ProgressBar(std::string_view phase, double elapsed_s, double expected_s,
                        std::string_view note, int columns) {
  std::string line;
  if (expected_s > 0) {
    const double share = std::clamp(elapsed_s / expected_s, 0.0, 1.0);
    const int filled = static_cast<int>(std::floor(share * kBarCells));
    line = fmt::format("[{:#<{}}{:.<{}}] {}  {} of {}", "", filled, "", kBarCells - filled, phase,
                       WholeSeconds(elapsed_s), WholeSeconds(expected_s));
    if (elapsed_s < expected_s) {
      line += ", " + WholeSeconds(std::ceil(expected_s - elapsed_s)) + " left";
    }
  } else {
    line = fmt::format("{}  {}", phase, WholeSeconds(elapsed_s));
  }
  if (!note.empty()) {
    line += ", ";
    line += note;
  }
  // The last column stays free: a full line would wrap on some terminals.
  return line.substr(0, static_cast<std::size_t>(std::max(1, columns - 1)));
}

std::string ToJsonLine(const ProgressRecord& record) {
  const nlohmann::ordered_json json{{"phase", record.phase},
                                    {"elapsed_s", std::round(record.elapsed_s * 10) / 10},
                                    {"expected_s", record.expected_s},
                                    {"note", record.note},
                                    {"done", record.done}};
  return json.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}

std::optional<ProgressRecord> ParseProgressRecord(std::string_view line) {
  const auto json = nlohmann::json::parse(line, nullptr, false);
  if (!json.is_object()) {
    return std::nullopt;
  }
  const auto has = [&json](const char* key, auto is) {
    return json.contains(key) && (json[key].*is)();
  };
  using Json = nlohmann::json;
  if (!has("phase", &Json::is_string) || !has("elapsed_s", &Json::is_number) ||
      !has("expected_s", &Json::is_number) || !has("note", &Json::is_string) ||
      !has("done", &Json::is_boolean)) {
    return std::nullopt;
  }
  return ProgressRecord{json["phase"], json["elapsed_s"], json["expected_s"], json["note"],
                        json["done"]};
}

ProgressDisplay::ProgressDisplay(ProgressStyle style) : ProgressDisplay(style, ToStandardError) {}

ProgressDisplay::ProgressDisplay(ProgressStyle style, Sink sink)
    : style_(style), sink_(std::move(sink)) {
  if (style_ == ProgressStyle::kBar || style_ == ProgressStyle::kRecords) {
    ticker_ = std::thread([this] { Tick(); });
  }
}

ProgressDisplay::~ProgressDisplay() {
  End();
  {
    const std::lock_guard lock(mutex_);
    leaving_ = true;
  }
  wake_.notify_all();
  if (ticker_.joinable()) {
    ticker_.join();
  }
}

void ProgressDisplay::Begin(std::string phase, double expected_s) {
  const std::lock_guard lock(mutex_);
  EndLocked();
  phase_ = std::move(phase);
  note_.clear();
  expected_s_ = expected_s;
  began_ns_ = NowNs();
  if (style_ == ProgressStyle::kLines) {
    const std::string about =
        expected_s > 0 ? ", about " + base::FormatSeconds(std::round(expected_s)) : "";
    sink_(phase_ + about + "\n");
  }
  wake_.notify_all();
}

void ProgressDisplay::Note(std::string note) {
  const std::lock_guard lock(mutex_);
  note_ = std::move(note);
}

void ProgressDisplay::End() {
  const std::lock_guard lock(mutex_);
  EndLocked();
}

double ProgressDisplay::ElapsedLocked() const {
  return static_cast<double>(NowNs() - began_ns_) / 1e9;
}

ProgressRecord ProgressDisplay::RecordLocked(bool done) const {
  return {phase_, ElapsedLocked(), expected_s_, note_, done};
}

void ProgressDisplay::EndLocked() {
  if (phase_.empty()) {
    return;
  }
  const std::string done = fmt::format("{} done in {:.1f} s{}{}\n", phase_, ElapsedLocked(),
                                       note_.empty() ? "" : ", ", note_);
  if (style_ == ProgressStyle::kBar) {
    sink_(std::string(kClearLine) + done);
  } else if (style_ == ProgressStyle::kLines) {
    sink_(done);
  } else if (style_ == ProgressStyle::kRecords) {
    sink_(ToJsonLine(RecordLocked(true)));
  }
  phase_.clear();
}

void ProgressDisplay::Tick() {
  std::unique_lock lock(mutex_);
  while (!leaving_) {
    if (!phase_.empty() && style_ == ProgressStyle::kRecords) {
      sink_(ToJsonLine(RecordLocked(false)));
    } else if (!phase_.empty()) {
      sink_(std::string(kClearLine) + ProgressBar(phase_, ElapsedLocked(), expected_s_, note_,
                                                  TerminalColumns(Stream::kError)));
    }
    wake_.wait_for(lock, style_ == ProgressStyle::kRecords ? kRecordEvery : kRedraw);
  }
}

}  // namespace cli
