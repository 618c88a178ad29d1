// SPDX-License-Identifier: Apache-2.0
//
// What was decided for one source: how its pictures are decoded, and why.

#pragma once

#include <string>
#include <vector>

#include "profiles/profile.h"

namespace bench {

/// A hardware decoder that was opened and made to decode on this PC.
struct WorkingDecoder {
  std::string name;   // FFmpeg's: "h264_cuvid"
  std::string codec;  // "h264"
};

struct SourcePlan {
  std::string decoder;  // FFmpeg's name of it; empty: the codec's own, in software
  int threads = 1;      // that decode pictures side by side

  /// Frame periods that side by side decoding keeps a picture back.
  int delay_frames() const { return decoder.empty() ? threads - 1 : 0; }
};

/// The first of `hardware` that fits a network source; software else. Software takes one
/// thread as long as that keeps up: each more keeps pictures back by one frame.
SourcePlan PlanSource(const profiles::Source& source, const std::vector<WorkingDecoder>& hardware);

/// What was decided and why, a line; empty for a source that arrives raw.
std::string NoteOn(const profiles::Source& source, const SourcePlan& plan,
                   const std::vector<WorkingDecoder>& hardware);

}  // namespace bench
