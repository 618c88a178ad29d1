// SPDX-License-Identifier: Apache-2.0
//
// One simulated source at work: the camera that never waits, its capture queue, its ingest.

#pragma once

#include <string>
#include <thread>
#include <vector>

#include "bench/bounded_queue.h"
#include "bench/feed_ring.h"
#include "bench/ingest.h"
#include "bench/latest_picture.h"
#include "bench/ledger.h"
#include "bench/output_entrance.h"
#include "bench/pacer.h"
#include "bench/run_control.h"

namespace bench {

/// What a simulated camera sends, and when its first frame falls due.
struct Camera {
  const profiles::Source& source;
  const FeedRing& ring;
  std::int64_t phase_ns;
};

class SourceChain {
 public:
  /// `takers` are the isos of it.
  SourceChain(const Camera& camera, Ingest ingest, std::vector<OutputEntrance*> takers,
              Pacer& pacer, RunControl& control);

  /// Starts both threads; frames fall due until `end_ns` of production time.
  void Start(std::int64_t end_ns);
  /// Waits until the last frame is through, then closes the takers.
  void Join();

  const LatestPicture& latest() const { return latest_; }
  const profiles::Source& source() const { return source_; }
  FeedLedger Account() const;
  Ledger& ledger() { return ledger_; }
  /// "convert", or "decode" when frames arrive compressed.
  const char* stage() const { return ring_.pictures.empty() ? "decode" : "convert"; }

 private:
  void RunCamera(std::int64_t end_ns);
  void SendOne(std::int64_t index);
  void RunIngest();
  void Lose(std::int64_t index);
  CaptureItem FrameFromRing(std::int64_t index) const;

  const profiles::Source source_;
  const FeedRing& ring_;  // made before, shared by several runs
  Ingest ingest_;
  const std::int64_t phase_ns_;
  const std::vector<OutputEntrance*> takers_;
  Pacer& pacer_;
  RunControl& control_;
  const int part_;
  Ledger ledger_;
  BoundedQueue<CaptureItem> queue_;
  LatestPicture latest_;
  std::jthread camera_;
  std::jthread ingest_thread_;
};

}  // namespace bench
