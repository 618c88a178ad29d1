// SPDX-License-Identifier: Apache-2.0
//
// Where pictures enter an encode: the ledgers of its outputs, and the queue in front of it.

#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "base/media/ffmpeg.h"
#include "base/rational.h"
#include "bench/pipeline/ledger.h"
#include "bench/stages/bounded_queue.h"

namespace bench {

/// One picture on its way to an encoder; `index` counts the output's frames.
struct EncodeItem {
  base::FramePtr picture;
  std::int64_t index = 0;
};

class OutputEntrance {
 public:
  /// `in` is the rate of the picture taken, `out` that of the encode. What
  /// happens to a frame here happens to it in each of `ledgers`.
  OutputEntrance(base::Rational in, base::Rational out, bool real_time,
                 std::vector<Ledger*> ledgers);

  /// Frame `index` of what it takes fell due, and will be offered or missed.
  void Due(std::int64_t index);
  /// It is here. Real time: a full queue drops it; else waits for room.
  void Offer(const AVFrame& picture, std::int64_t index);
  /// It was lost further up, in front of `stage`.
  void Missed(std::int64_t index, Stage stage);
  /// No more pictures will come.
  void Close() { queue_.Close(); }

  /// When frame 0 of what it takes falls due, in production time; before the run.
  void BeginAt(std::int64_t phase_ns) { phase_ns_ = phase_ns; }
  /// When the output's frame `index` falls due, in production time.
  std::int64_t OutputDueNs(std::int64_t index) const { return phase_ns_ + DueNs(index, out_); }

  BoundedQueue<EncodeItem>& queue() { return queue_; }

  /// Says which stage a full encode queue is charged to: the encoder, or what
  /// holds the encoder up.
  void ChargeBy(std::function<Stage()> bottleneck) { bottleneck_ = std::move(bottleneck); }

 private:
  void Drop(std::int64_t frame, Stage stage);

  const base::Rational in_;
  const base::Rational out_;
  const bool real_time_;
  const std::vector<Ledger*> ledgers_;
  std::int64_t phase_ns_ = 0;
  BoundedQueue<EncodeItem> queue_;
  std::function<Stage()> bottleneck_ = [] { return Stage::kEncode; };
};

}  // namespace bench
