// SPDX-License-Identifier: Apache-2.0
//
// Lines of the kernel's log that known signatures match, within a run.

#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "probes/data/line_check.h"

namespace probes {

/// One line that the kernel writes when something went wrong (or, weight
/// "note", changed), as an ECMAScript pattern to search for.
struct KernelSignature {
  const char* pattern;
  const char* source;  // file below the kernel's sources that writes it
  const char* meaning;
  const char* cause;
  const char* weight;  // "fatal", "serious", "warning", "note"
};
std::span<const KernelSignature> KernelSignatures();

/// The first signature that the line matches; at_s is left to the caller.
std::optional<KernelLogLine> MatchKernelLine(std::string_view text);

/// One record of /dev/kmsg: "PRIORITY,NUMBER,MICROSECONDS,FLAGS;TEXT", more lines after it.
/// Documentation/ABI/testing/dev-kmsg of the Linux kernel.
struct KernelRecord {
  std::int64_t at_us = 0;  // since the PC was started
  std::string text;
};
std::optional<KernelRecord> ParseKernelRecord(std::string_view record);

/// What one read of the log gave: a record, or an errno (EAGAIN: there is no more).
struct KernelLogRead {
  int error = 0;
  std::string_view record;  // until the next read
};

/// Reads until there is no more, and at most `most_reads` times: a log that is written
/// faster than it is read has no end. `lines_read` counts those that were read, and
/// is unknown, with the reason, where reading failed.
KernelLog ReadKernelLog(const std::function<KernelLogRead()>& read, std::int64_t began_us,
                        std::size_t most_reads = 100'000);

/// The kernel's log from the moment of its making on.
class KernelLogTail {
 public:
  KernelLogTail();
  ~KernelLogTail();
  KernelLogTail(const KernelLogTail&) = delete;
  KernelLogTail& operator=(const KernelLogTail&) = delete;

  /// Matches all that was written since; `lines_read` is unknown, with the
  /// reason, when the log may not be read.
  KernelLog Finish();

  /// Lines that were written since, those of known signatures; at most `most_matched` are compared
  /// with the signatures, the rest is only counted. `at_s` counts from the tail's making. Without
  /// a log there are none: Lines() says why.
  std::vector<KernelLogLine> Take(std::size_t most_matched);
  /// Taken up to now; unknown, with the reason, when the log may not be read.
  base::Reading<std::int64_t> Lines() const;

 private:
  /// Its record is there until the next one is read.
  KernelLogRead ReadOne();
  std::optional<KernelRecord> Next();

  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace probes
