// SPDX-License-Identifier: Apache-2.0
//
// Writes the log of a watched production, so that whatever ends it leaves a log that can be read.

#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "probes/data/watch_log.h"
#include "probes/watch_log/encoder.h"

namespace probes {

struct WatchLogLimits {
  std::int64_t most_bytes = 1'000'000'000;  // of all parts; the oldest are dropped
  /// Free space below which nothing more is written, or a twentieth of a small disk.
  std::int64_t guard_bytes = std::int64_t{64} << 20U;
};

/// The least `most_bytes`: parts of a sixteenth of it must hold some records.
inline constexpr std::int64_t kLeastLogBytes = 8'000'000;

/// Samples of a second are one record, given to the kernel at once: a watch that is killed loses
/// the second that it was in. A thread of its own waits for the disk, and brings the data onto it
/// every 10 s: more often would make file systems write their journals more often than they do
/// by themselves, and disturb what is recorded; a PC that loses its power loses those 10 s.
class WatchLogWriter {
 public:
  /// Makes the folder, which must not be there or be empty: a log is never written over.
  static base::Result<std::unique_ptr<WatchLogWriter>> Create(const std::filesystem::path& folder,
                                                              const WatchHead& head,
                                                              const WatchLogLimits& limits);
  ~WatchLogWriter();
  WatchLogWriter(const WatchLogWriter&) = delete;
  WatchLogWriter& operator=(const WatchLogWriter&) = delete;

  void Add(const WatchSample& sample, const WatchDevices& devices);
  void Add(const WatchProcesses& processes);
  void Add(const WatchProgram& program);
  void Add(const KernelLogLine& line);
  void AddKernelLines(const base::Reading<std::int64_t>& lines);
  void AddNotRead(const std::string& text);

  /// Once: what is left, why it ended, onto the disk. Waits for a disk that stands still only for
  /// a part of a second: what the kernel has by then it keeps.
  void Finish(double at_s, const std::string& why);

  /// Why nothing more is written; "disk guard" is in `where` when it is that.
  std::optional<base::Error> Failure() const;
  std::int64_t bytes_written() const;
  /// Seconds handed to the thread and not yet taken.
  std::size_t waiting() const;
  /// Seconds of samples thrown away because the disk took nothing for long.
  std::int64_t seconds_lost() const { return seconds_lost_; }

 private:
  struct File;  // the thread's side

  WatchLogWriter(std::shared_ptr<File> file, const WatchHead& head, const WatchLogLimits& limits);

  void BeginPart();
  void Flush();
  void Close();
  void Hand(std::string bytes);

  std::shared_ptr<File> file_;
  WatchHead head_;
  std::int64_t part_limit_bytes_;
  WatchEncoder encoder_;
  WatchDevices devices_;
  std::vector<WatchSample> second_;  // not yet written
  std::vector<WatchProcesses> looks_;
  std::string pending_;  // records beside them, without names
  std::optional<WatchProgram> program_;
  std::optional<base::Reading<std::int64_t>> kernel_lines_;
  std::vector<std::string> not_read_;
  std::int64_t part_bytes_ = 0;
  int part_ = 0;
  bool part_due_ = true;
  std::int64_t seconds_lost_ = 0;
};

}  // namespace probes
