// SPDX-License-Identifier: Apache-2.0
//
// The production's sound: made, encoded to AAC once, and handed to every writer.

#pragma once

#include <atomic>
#include <cstdint>
#include <thread>
#include <vector>

#include "base/media/ffmpeg.h"
#include "base/result.h"
#include "bench/pipeline/write_item.h"
#include "bench/stages/bounded_queue.h"
#include "bench/stages/pacer.h"
#include "bench/stages/run_control.h"
#include "profiles/profile.h"

namespace bench {

class AudioChain {
 public:
  static base::Result<std::unique_ptr<AudioChain>> Open(const profiles::Audio& audio, Pacer& pacer,
                                                        RunControl& control);

  const AVCodecContext& codec() const { return *codec_; }
  /// Sound until `end_ns` of production time into all of `writers`.
  void Start(std::int64_t end_ns, std::vector<BoundedQueue<WriteItem>*> writers);
  void Join();
  std::int64_t frames() const { return frames_; }
  /// Packets that found no room: a writer was stuck.
  std::int64_t dropped() const { return dropped_; }

 private:
  AudioChain(const profiles::Audio& audio, base::CodecPtr codec, Pacer& pacer, RunControl& control);
  void Run(std::int64_t end_ns);
  bool EncodeOne(std::int64_t index);
  base::Result<base::FramePtr> Sound(std::int64_t first_sample) const;
  void HandOut();

  const profiles::Audio audio_;
  base::CodecPtr codec_;
  Pacer& pacer_;
  RunControl& control_;
  int part_;
  std::vector<float> ring_;  // one second of sound, all channels alike
  std::vector<BoundedQueue<WriteItem>*> writers_;
  std::atomic<std::int64_t> frames_{0};
  std::atomic<std::int64_t> dropped_{0};
  std::jthread thread_;
};

}  // namespace bench
