#include "bench/output_entrance.h"

#include "bench/rate_map.h"
#include "profiles/pipeline_sizes.h"

namespace bench {

OutputEntrance::OutputEntrance(base::Rational in, base::Rational out, bool real_time)
    : in_(in),
      out_(out),
      real_time_(real_time),
      ledger_(out),
      queue_(profiles::kEncodeQueueFrames, 0) {}

void OutputEntrance::Due(std::int64_t index) {
  const FrameRange frames = OutputFrames(index, in_, out_);
  for (std::int64_t frame = frames.first; frame < frames.end; ++frame) {
    ledger_.Due(frame);
  }
}

void OutputEntrance::Offer(const AVFrame& picture, std::int64_t index) {
  const FrameRange frames = OutputFrames(index, in_, out_);
  for (std::int64_t frame = frames.first; frame < frames.end; ++frame) {
    EncodeItem item{base::Share(picture), frame};
    if (!real_time_) {
      queue_.Push(std::move(item));  // refused only at a stop: then it stays in flight
    } else if (!queue_.TryPush(std::move(item)) && !queue_.closed()) {
      ledger_.Dropped(frame, bottleneck_());
    }
  }
}

void OutputEntrance::Missed(std::int64_t index, const char* stage) {
  const FrameRange frames = OutputFrames(index, in_, out_);
  for (std::int64_t frame = frames.first; frame < frames.end; ++frame) {
    ledger_.Dropped(frame, stage);
  }
}

}  // namespace bench
