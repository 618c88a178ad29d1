// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/output_entrance.h"

#include <utility>

#include "bench/stages/rate_map.h"
#include "profiles/demand/pipeline_sizes.h"

namespace bench {

OutputEntrance::OutputEntrance(base::Rational in, base::Rational out, bool real_time,
                               std::vector<Ledger*> ledgers)
    : in_(in),
      out_(out),
      real_time_(real_time),
      ledgers_(std::move(ledgers)),
      queue_(profiles::kEncodeQueueFrames, 0) {}

void OutputEntrance::Due(std::int64_t index) {
  const FrameRange frames = OutputFrames(index, in_, out_);
  for (std::int64_t frame = frames.first; frame < frames.end; ++frame) {
    for (Ledger* ledger : ledgers_) {
      ledger->Due(frame);
    }
  }
}

void OutputEntrance::Drop(std::int64_t frame, Stage stage) {
  for (Ledger* ledger : ledgers_) {
    ledger->Dropped(frame, stage);
  }
}

void OutputEntrance::Offer(const AVFrame& picture, std::int64_t index) {
  const FrameRange frames = OutputFrames(index, in_, out_);
  for (std::int64_t frame = frames.first; frame < frames.end; ++frame) {
    EncodeItem item{base::Share(picture), frame};
    if (!real_time_) {
      queue_.Push(std::move(item));  // refused only at a stop: then it stays in flight
    } else if (!queue_.TryPush(std::move(item)) && !queue_.closed()) {
      Drop(frame, bottleneck_());
    }
  }
}

void OutputEntrance::Missed(std::int64_t index, Stage stage) {
  const FrameRange frames = OutputFrames(index, in_, out_);
  for (std::int64_t frame = frames.first; frame < frames.end; ++frame) {
    Drop(frame, stage);
  }
}

}  // namespace bench
