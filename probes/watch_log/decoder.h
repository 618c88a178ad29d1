// SPDX-License-Identifier: Apache-2.0
//
// Records of a log's parts, one after another, put together to what they tell.

#pragma once

#include <cstdint>
#include <functional>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "probes/data/watch_log.h"
#include "probes/watch_log/bytes.h"
#include "probes/watch_log/clock.h"
#include "probes/watch_log/names.h"

namespace probes {

/// Takes bytes of any making: what does not fit is counted as damaged and left out.
class WatchDecoder {
 public:
  /// Samples within `range` go to `seen`, in order.
  WatchDecoder(const WatchRange& range, std::function<void(const WatchSample&)> seen)
      : range_(range), seen_(std::move(seen)) {}

  /// Records that follow are those of another part: names count anew.
  void BeginPart();
  /// An error when the part cannot be gone on with: it is of something else, or another version.
  base::Status Take(const WatchRecord& record);
  void CountDamage(std::int64_t bytes) { log_.damaged_bytes += bytes; }
  bool has_head() const { return has_head_; }

  /// Without samples.
  WatchLog Finish();

 private:
  base::Status TakeHead(ByteReader& bytes);
  bool TakeSamples(ByteReader& bytes);
  bool TakeKernelLine(ByteReader& bytes);
  bool TakeKernelLines(ByteReader& bytes);
  bool TakeProcesses(ByteReader& bytes);
  bool TakeProgram(ByteReader& bytes);
  bool TakeNotRead(ByteReader& bytes);
  bool TakeOther(int kind, ByteReader& bytes);
  void KeepProcesses(WatchProcesses processes);
  bool Within(double from_s, double to_s) const;

  WatchRange range_;
  std::function<void(const WatchSample&)> seen_;
  WatchLog log_;
  WatchNames names_;
  WatchClockFollower clock_;
  bool has_head_ = false;
  bool part_has_head_ = false;
  bool any_sample_ = false;
};

}  // namespace probes
