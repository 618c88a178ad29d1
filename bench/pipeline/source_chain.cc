// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/source_chain.h"

#include <exception>

#include "bench/stages/stage_cpu.h"
#include "profiles/demand/pipeline_sizes.h"
#include "profiles/words.h"

namespace bench {

SourceChain::SourceChain(Camera camera, Ingest ingest, std::vector<OutputEntrance*> takers,
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
      queue_(profiles::kCaptureQueueFrames, 0),
      feed_(std::move(camera.feed)) {
  control_.OnStop([this] { queue_.Close(); });
}

void SourceChain::Start(std::int64_t end_ns) {
  ingest_thread_ = std::jthread([this] { RunIngest(); });
  if (feed_) {
    receiver_ = std::jthread([this] { RunReceiver(); });
  }
  camera_ = std::jthread([this, end_ns] { RunCamera(end_ns); });
}

void SourceChain::Join() {
  for (std::jthread* thread : {&camera_, &receiver_, &ingest_thread_}) {
    if (thread->joinable()) {
      thread->join();
    }
  }
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

void SourceChain::CountLost(std::int64_t index, Stage stage) {
  ledger_.Dropped(index, stage);
  for (OutputEntrance* taker : takers_) {
    taker->Missed(index, stage);
  }
}

void SourceChain::Lose(std::int64_t index, Stage stage) {
  if (arrivals_.GiveUp(index)) {
    CountLost(index, stage);
  }
}

void SourceChain::SendOne(std::int64_t index) {
  ledger_.Due(index);
  for (OutputEntrance* taker : takers_) {
    taker->Due(index);
  }
  arrivals_.Due(index);
  CaptureItem item = FrameFromRing(index);
  if (feed_) {
    const auto sent = feed_->Send(*item.packet, index);
    if (!sent) {
      control_.Stop({StopPart::kSource, source_.name, sent.error().detail});
    } else if (!*sent && !control_.stopped()) {
      Lose(index, Stage::kReceive);
    }
  } else if (!pacer_.RealTime()) {
    queue_.Push(std::move(item));
  } else if (!queue_.TryPush(std::move(item)) && !queue_.closed()) {
    Lose(index, stage());
  }
}

void SourceChain::HandOn(ReceivedPicture picture) {
  const std::int64_t index = picture.index;
  if (picture.whole) {
    arrivals_.Received(index);
  } else {
    Lose(index, Stage::kReceive);
  }
  ++received_;
  // A damaged picture is decoded too, as receivers do; what comes of it is not counted.
  CaptureItem item{nullptr, std::move(picture.packet), index, true};
  if (!queue_.TryPush(std::move(item)) && !queue_.closed()) {
    Lose(index, stage());
  }
}

void SourceChain::RunReceiver() {
  NameThread(kReceiveThread, source_.name);
  try {
    while (!control_.stopped()) {
      auto received = feed_->Receive();
      if (!received) {
        control_.Stop({StopPart::kSource, source_.name, received.error().detail});
        break;
      }
      if (!*received) {
        break;
      }
      HandOn(std::move(**received));
      receiver_cpu_seconds_ = OwnThreadCpuSeconds();
    }
  } catch (const std::exception& failure) {
    control_.Stop({StopPart::kSource, source_.name, ShortageText(failure)});
  }
  queue_.Close();
}

void SourceChain::RunCamera(std::int64_t end_ns) {
  NameThread(feed_ ? kSimulateThread : kCameraThread, source_.name);
  try {
    for (std::int64_t index = 0;; ++index) {
      const std::int64_t due_ns = phase_ns_ + DueNs(index, source_.rate);
      if (due_ns >= end_ns || !pacer_.WaitTurn(part_, due_ns)) {
        break;
      }
      SendOne(index);
      camera_cpu_seconds_ = OwnThreadCpuSeconds();
    }
  } catch (const std::exception& failure) {
    control_.Stop({StopPart::kSource, source_.name, ShortageText(failure)});
  }
  pacer_.Leave(part_);
  if (feed_) {
    feed_->EndSending();
  } else {
    queue_.Close();
  }
}

void SourceChain::TakePicture(base::FramePtr picture, std::int64_t index) {
  const auto lost = arrivals_.CameOut(index);
  if (!lost) {
    return;
  }
  for (const Arrivals::Lost& before : *lost) {
    CountLost(before.index, feed_ && !before.received ? Stage::kReceive : stage());
  }
  const std::int64_t now_ns = pacer_.NowNs();
  ledger_.Delivered(index, now_ns - phase_ns_ - DueNs(index, source_.rate), now_ns);
  for (OutputEntrance* output : takers_) {
    output->Offer(*picture, index);
  }
  latest_.Set(std::move(picture));
}

void SourceChain::RunIngest() {
  NameThread(kIngestThread, source_.name);
  const auto taker = [this](base::FramePtr picture, std::int64_t index) {
    TakePicture(std::move(picture), index);
  };
  try {
    while (auto item = queue_.Pop()) {
      if (control_.stopped()) {
        return;
      }
      if (auto taken = ingest_.Take(*item, taker); !taken) {
        control_.Stop({StopPart::kSource, source_.name, taken.error().detail});
        return;
      }
    }
    if (!control_.stopped()) {
      if (auto finished = ingest_.Finish(taker); !finished) {
        control_.Stop({StopPart::kSource, source_.name, finished.error().detail});
        return;
      }
      for (const Arrivals::Lost& lost : arrivals_.TakeRest()) {
        CountLost(lost.index, feed_ && !lost.received ? Stage::kReceive : stage());
      }
    }
  } catch (const std::exception& failure) {
    control_.Stop({StopPart::kSource, source_.name, ShortageText(failure)});
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
  account.decoder = ingest_.decoder_name();
  if (feed_) {
    const NetworkCounts counts = feed_->counts();
    account.transport = profiles::ToWord(source_.transport);
    account.packets_received = counts.packets_received;
    account.packets_lost = counts.packets_lost;
    account.pictures_incomplete = counts.pictures_incomplete;
    account.socket_buffer_bytes = feed_->socket_buffer_bytes();
  }
  return account;
}

}  // namespace bench
