#include "bench/source_chain.h"

#include <exception>

#include "bench/stage_cpu.h"
#include "profiles/pipeline_sizes.h"

namespace bench {

SourceChain::SourceChain(const Camera& camera, Ingest ingest, std::vector<OutputEntrance*> takers,
                         Pacer& pacer, RunControl& control)
    : source_(camera.source),
      ring_(camera.ring),
      ingest_(std::move(ingest)),
      phase_ns_(camera.phase_ns),
      takers_(std::move(takers)),
      pacer_(pacer),
      control_(control),
      part_(pacer.Join()),
      ledger_(camera.source.rate),
      queue_(profiles::kCaptureQueueFrames, 0) {
  control_.OnStop([this] { queue_.Close(); });
}

void SourceChain::Start(std::int64_t end_ns) {
  ingest_thread_ = std::jthread([this] { RunIngest(); });
  camera_ = std::jthread([this, end_ns] { RunCamera(end_ns); });
}

void SourceChain::Join() {
  camera_.join();
  ingest_thread_.join();
  for (OutputEntrance* taker : takers_) {
    taker->Close();
  }
}

CaptureItem SourceChain::FrameFromRing(std::int64_t index) const {
  const auto at = static_cast<std::size_t>(index) % ring_.size();
  CaptureItem item;
  item.index = index;
  if (ring_.pictures.empty()) {
    item.packet = base::Share(*ring_.packets[at]);
  } else {
    item.picture = base::Share(*ring_.pictures[at]);
  }
  return item;
}

void SourceChain::Lose(std::int64_t index) {
  ledger_.Dropped(index, stage());
  for (OutputEntrance* taker : takers_) {
    taker->Missed(index, stage());
  }
}

void SourceChain::SendOne(std::int64_t index) {
  ledger_.Due(index);
  for (OutputEntrance* taker : takers_) {
    taker->Due(index);
  }
  CaptureItem item = FrameFromRing(index);
  if (!pacer_.RealTime()) {
    queue_.Push(std::move(item));
  } else if (!queue_.TryPush(std::move(item)) && !queue_.closed()) {
    Lose(index);
  }
}

void SourceChain::RunCamera(std::int64_t end_ns) {
  NameThread(kCameraThread, source_.name);
  try {
    for (std::int64_t index = 0;; ++index) {
      const std::int64_t due_ns = phase_ns_ + DueNs(index, source_.rate);
      if (due_ns >= end_ns || !pacer_.WaitTurn(part_, due_ns)) {
        break;
      }
      SendOne(index);
    }
  } catch (const std::exception& failure) {
    control_.Stop(source_.name + ": " + failure.what());
  }
  pacer_.Leave(part_);
  queue_.Close();
}

void SourceChain::RunIngest() {
  NameThread(kIngestThread, source_.name);
  const auto taker = [this](base::FramePtr picture, std::int64_t index) {
    const std::int64_t now_ns = pacer_.NowNs();
    ledger_.Delivered(index, now_ns - phase_ns_ - DueNs(index, source_.rate), now_ns);
    for (OutputEntrance* output : takers_) {
      output->Offer(*picture, index);
    }
    latest_.Set(std::move(picture));
  };
  try {
    while (auto item = queue_.Pop()) {
      if (control_.stopped()) {
        return;
      }
      if (auto taken = ingest_.Take(*item, taker); !taken) {
        control_.Stop(source_.name + ": " + taken.error().detail);
        return;
      }
    }
    if (!control_.stopped()) {
      if (auto finished = ingest_.Finish(taker); !finished) {
        control_.Stop(source_.name + ": " + finished.error().detail);
      }
    }
  } catch (const std::exception& failure) {
    control_.Stop(source_.name + ": " + failure.what());
  }
}

FeedLedger SourceChain::Account() const {
  const Ledger::Totals totals = ledger_.totals();
  FeedLedger account;
  account.name = source_.name;
  account.due = totals.due;
  account.delivered = totals.delivered;
  account.dropped = totals.dropped;
  account.seconds = ledger_.windows();
  account.prepare_seconds = ring_.prepare_seconds;
  account.ring_bytes = ring_.bytes;
  return account;
}

}  // namespace bench
