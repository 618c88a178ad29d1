// SPDX-License-Identifier: Apache-2.0
//
// One container being written: into a recording file with paced writeback, or to a URL.

#pragma once

#include <atomic>
#include <cstdint>
#include <memory>

#include "base/media/ffmpeg.h"
#include "base/result.h"
#include "bench/plan/output_plan.h"

namespace bench {

/// True when the container keeps parameter sets apart from the stream.
bool WantsGlobalHeader(const std::string& format);

class Muxer {
 public:
  /// `video` may be null only for the format "null". `audio` is null without
  /// sound. `cancel` ends waits on sockets. Files: see RecordingFile.
  static base::Result<std::unique_ptr<Muxer>> Open(const OutputPlan& plan,
                                                   const AVCodecContext* video,
                                                   const AVCodecContext* audio,
                                                   const std::atomic<bool>& cancel);
  virtual ~Muxer() = default;

  /// Takes the packet; timestamps in the encoder's time base.
  virtual base::Status Write(AVPacket& packet, bool audio) = 0;
  /// Ends the container; the file's data is on the disk afterwards.
  virtual base::Status Finish() = 0;
  virtual std::int64_t bytes() const = 0;
};

}  // namespace bench
