// SPDX-License-Identifier: Apache-2.0
//
// One simulated source at work: the camera that never waits, its capture queue, its ingest.

#pragma once

#include <atomic>
#include <memory>
#include <string>
#include <thread>
#include <vector>

#include "bench/feeds/arrivals.h"
#include "bench/feeds/feed_ring.h"
#include "bench/feeds/network_feed.h"
#include "bench/pipeline/ingest.h"
#include "bench/pipeline/ledger.h"
#include "bench/pipeline/output_entrance.h"
#include "bench/stages/bounded_queue.h"
#include "bench/stages/latest_picture.h"
#include "bench/stages/pacer.h"
#include "bench/stages/run_control.h"

namespace bench {

/// What a simulated camera sends, and when its first frame falls due.
struct Camera {
  const profiles::Source& source;
  const FeedRing& ring;
  std::int64_t phase_ns;
  std::unique_ptr<NetworkFeed> feed;  // null: frames are handed over in memory
};

class SourceChain {
 public:
  /// `takers` are the isos of it.
  SourceChain(Camera camera, Ingest ingest, std::vector<OutputEntrance*> takers, Pacer& pacer,
              RunControl& control);

  /// Starts its threads; frames fall due until `end_ns` of production time.
  void Start(std::int64_t end_ns);
  /// Waits until the last frame is through, then closes the takers.
  void Join();

  const LatestPicture& latest() const { return latest_; }
  const profiles::Source& source() const { return source_; }
  FeedLedger Account() const;
  Ledger& ledger() { return ledger_; }
  /// Decoding when frames arrive compressed.
  Stage stage() const { return ring_.pictures.empty() ? Stage::kDecode : Stage::kConvert; }
  bool HasTakers() const { return !takers_.empty(); }
  /// True when frames come over a network.
  bool FromNetwork() const { return feed_ != nullptr; }
  /// CPU seconds of the camera's and the receiver's threads.
  double camera_cpu_seconds() const { return camera_cpu_seconds_; }
  double receiver_cpu_seconds() const { return receiver_cpu_seconds_; }
  /// Pictures that the receiver handed on.
  std::int64_t received() const { return received_; }

 private:
  void RunCamera(std::int64_t end_ns);
  void SendOne(std::int64_t index);
  void RunReceiver();
  void HandOn(ReceivedPicture picture);
  void RunIngest();
  void TakePicture(base::FramePtr picture, std::int64_t index);
  void Lose(std::int64_t index, Stage stage);
  void CountLost(std::int64_t index, Stage stage);
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
  Arrivals arrivals_;
  LatestPicture latest_;
  const std::unique_ptr<NetworkFeed> feed_;
  std::atomic<std::int64_t> received_{0};
  std::atomic<double> camera_cpu_seconds_{0};
  std::atomic<double> receiver_cpu_seconds_{0};
  std::jthread camera_;
  std::jthread receiver_;
  std::jthread ingest_thread_;
};

}  // namespace bench
