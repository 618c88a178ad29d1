// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/packet_gate.h"

#include <algorithm>
#include <utility>

#include "profiles/demand/pipeline_sizes.h"

namespace bench {
namespace {

bool IsKey(const AVPacket& packet) {
  return (static_cast<unsigned>(packet.flags) & AV_PKT_FLAG_KEY) != 0;
}

}  // namespace

PacketGate::PacketGate(Ledger& ledger, Stage stage)
    : ledger_(ledger), stage_(stage), queue_(profiles::kWriteQueuePackets) {}

bool PacketGate::HangsOnWhatWasLost(const AVPacket& packet) const {
  return !IsKey(packet) && (broken_ || packet.pts < mended_at_);
}

void PacketGate::Hand(WriteItem item, bool wait) {
  const std::int64_t index = item.packet->pts;
  if (HangsOnWhatWasLost(*item.packet)) {
    lost_.push_back(index);
    return;
  }
  const bool taken = wait ? queue_.Push(std::move(item)) : queue_.TryPush(std::move(item));
  if (!taken) {
    if (!queue_.closed()) {
      broken_ = true;
      lost_.push_back(index);
    }
    return;
  }
  if (broken_) {
    broken_ = false;
    mended_at_ = index;
  } else if (!lost_.empty() && index > mended_at_) {
    TellLosses();
  }
}

void PacketGate::TellLosses() {
  std::sort(lost_.begin(), lost_.end());
  for (const std::int64_t index : lost_) {
    ledger_.Dropped(index, stage_);
  }
  lost_.clear();
}

void PacketGate::Close() {
  TellLosses();
  queue_.Close();
}

}  // namespace bench
