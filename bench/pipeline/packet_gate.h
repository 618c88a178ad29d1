// SPDX-License-Identifier: Apache-2.0
//
// The way into one output's writer: its queue of packets, and what is lost where that is full.

#pragma once

#include <cstdint>
#include <limits>
#include <vector>

#include "bench/pipeline/ledger.h"
#include "bench/pipeline/write_item.h"
#include "bench/stages/bounded_queue.h"

namespace bench {

/// One encoder thread hands packets in; the writer and the sound use the queue.
class PacketGate {
 public:
  /// `stage` is what a packet that finds no room is charged to.
  PacketGate(Ledger& ledger, Stage stage);

  BoundedQueue<WriteItem>& queue() { return queue_; }
  Stage stage() const { return stage_; }

  /// Hands a picture's packet on. With `wait` it waits for room. Without, a
  /// full queue drops it, and with it all that cannot be shown any more: what
  /// comes up to the next key frame, and pictures shown before that one. A
  /// packet refused because the queue is closed stays in flight.
  void Hand(WriteItem item, bool wait);
  /// No more packets come.
  void Close();

 private:
  bool HangsOnWhatWasLost(const AVPacket& packet) const;
  /// Drops are told in the order of their frames; packets come in coding order.
  void TellLosses();

  Ledger& ledger_;
  const Stage stage_;
  BoundedQueue<WriteItem> queue_;
  bool broken_ = false;  // no key frame has been handed on since the last loss
  std::int64_t mended_at_ = std::numeric_limits<std::int64_t>::min();
  std::vector<std::int64_t> lost_;  // not told yet
};

}  // namespace bench
