// SPDX-License-Identifier: Apache-2.0
//
// How far a long command is: a bar on a terminal, plain lines elsewhere, records for programs,
// nothing when quiet.

#pragma once

#include <condition_variable>
#include <cstdint>
#include <functional>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <thread>

namespace cli {

enum class ProgressStyle { kBar, kLines, kRecords, kNone };

/// The style for standard error: kNone when quiet, kRecords where they are asked for, kBar on a
/// terminal that can move its cursor.
ProgressStyle StyleForStandardError(bool quiet, bool records = false);

/// "[######......] rehearsal  12 s of 40 s, 28 s left, 0 dropped", at most
/// `columns` wide. `expected_s` 0 means unknown: no bar, elapsed time only.
std::string ProgressBar(std::string_view phase, double elapsed_s, double expected_s,
                        std::string_view note, int columns);

/// Where one phase is, for other programs.
struct ProgressRecord {
  std::string phase;
  double elapsed_s = 0;
  double expected_s = 0;  // 0: not known
  std::string note;       // may be empty
  bool done = false;
};
/// One line of JSON with the members above.
std::string ToJsonLine(const ProgressRecord& record);
/// Nothing where the line is something else.
std::optional<ProgressRecord> ParseProgressRecord(std::string_view line);

/// One command's phases, one after another. Thread-safe: a note may come from any thread.
class ProgressDisplay {
 public:
  using Sink = std::function<void(std::string_view)>;

  /// To standard error.
  explicit ProgressDisplay(ProgressStyle style);
  ProgressDisplay(ProgressStyle style, Sink sink);
  ~ProgressDisplay();
  ProgressDisplay(const ProgressDisplay&) = delete;
  ProgressDisplay& operator=(const ProgressDisplay&) = delete;

  /// Ends the phase before, if any.
  void Begin(std::string phase, double expected_s);
  /// Shown behind the times: "3 dropped".
  void Note(std::string note);
  void End();

 private:
  void Tick();
  void EndLocked();
  double ElapsedLocked() const;
  ProgressRecord RecordLocked(bool done) const;

  const ProgressStyle style_;
  const Sink sink_;
  std::mutex mutex_;
  std::condition_variable wake_;
  std::string phase_;  // empty: between phases
  std::string note_;
  double expected_s_ = 0;
  std::int64_t began_ns_ = 0;
  bool leaving_ = false;
  std::thread ticker_;
};

}  // namespace cli
