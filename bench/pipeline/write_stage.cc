// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/write_stage.h"

#include <algorithm>
#include <chrono>

namespace bench {
namespace {

using SteadyClock = std::chrono::steady_clock;

std::int64_t SinceNs(SteadyClock::time_point begun) {
  return std::chrono::duration_cast<std::chrono::nanoseconds>(SteadyClock::now() - begun).count();
}

}  // namespace

WriteStage::WriteStage(const OutputPlan& plan, BoundedQueue<WriteItem>& packets, Ledger& ledger,
                       Pacer& pacer, RunControl& control)
    : plan_(plan), packets_(packets), ledger_(ledger), pacer_(pacer), control_(control) {
  control_.OnStop([this] { cancel_ = true; });
}

base::Status WriteStage::Open(const AVCodecContext* video, const AVCodecContext* audio) {
  auto muxer = Muxer::Open(plan_, video, audio, cancel_);
  if (!muxer) {
    return muxer.error();
  }
  muxer_ = std::move(*muxer);
  return base::Done{};
}

void WriteStage::Settle(const WriteItem& item, std::int64_t index) {
  if (item.at_end || !pacer_.RealTime()) {
    ledger_.DeliveredAtEnd(index);
  } else {
    const std::int64_t now_ns = pacer_.NowNs();
    ledger_.Delivered(index, now_ns - item.newest_due_ns, now_ns);
  }
}

void WriteStage::Run() {
  const auto first = SteadyClock::now();
  base::Status status = base::Done{};
  while (auto item = packets_.Pop()) {
    if (control_.stopped()) {
      break;
    }
    const std::int64_t index = item->packet->pts;
    const auto begun = SteadyClock::now();
    status = muxer_->Write(*item->packet, item->audio);
    const std::int64_t wrote_in_ns = SinceNs(begun);
    busy_ns_ += wrote_in_ns;
    if (pacer_.RealTime()) {
      const std::int64_t now_ns = pacer_.NowNs();
      work_.Add(now_ns - wrote_in_ns, now_ns);
    }
    elapsed_ns_ = SinceNs(first);
    if (!status) {
      break;
    }
    bytes_ = muxer_->bytes();
    if (!item->audio) {
      Settle(*item, index);
    }
  }
  // After a stop too: what was written so far stays a readable file.
  const base::Status finished = muxer_->Finish();
  bytes_ = muxer_->bytes();
  if (status && !control_.stopped()) {
    status = finished;
  }
  if (!status) {
    control_.Stop({StopPart::kOutput, plan_.output.name,
                   status.error().where + ": " + status.error().detail});
  }
}

double WriteStage::Busy() const {
  const std::int64_t elapsed = elapsed_ns_;
  return elapsed <= 0 ? 0
                      : std::min(1.0, static_cast<double>(busy_ns_) / static_cast<double>(elapsed));
}

}  // namespace bench
