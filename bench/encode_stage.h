// SPDX-License-Identifier: Apache-2.0
//
// The encode stage of one output: takes pictures from its entrance, hands packets to its writer.

#pragma once

#include <atomic>
#include <cstdint>
#include <memory>
#include <optional>

#include "base/ffmpeg.h"
#include "base/video_encoder.h"
#include "bench/bounded_queue.h"
#include "bench/output_entrance.h"
#include "bench/output_plan.h"
#include "bench/pacer.h"
#include "bench/picture_pool.h"
#include "bench/picture_scaler.h"
#include "bench/run_control.h"

namespace bench {

/// One packet on its way to a file or socket.
struct WriteItem {
  base::PacketPtr packet;
  bool audio = false;
  bool at_end = false;             // came out while the encoder was emptied
  std::int64_t newest_due_ns = 0;  // due moment of the newest picture the encoder had taken
};

class EncodeStage {
 public:
  EncodeStage(const OutputPlan& plan, OutputEntrance& entrance, Pacer& pacer, RunControl& control);

  /// Opens the encoder on the calling thread, which must be the one to Run():
  /// the library's threads then carry its name.
  base::Status Open(bool global_header);
  /// Until the entrance is closed and empty; closes the write queue at the end.
  void Run();

  BoundedQueue<WriteItem>& packets() { return packets_; }
  /// Null for the null encoder.
  const AVCodecContext* codec() const { return encoder_ ? &encoder_->context() : nullptr; }
  /// Share of the time since the first picture that the encoder was at work.
  double Busy() const;
  int delay_frames() const { return delay_frames_; }

 private:
  base::Status Encode(EncodeItem item);
  base::Status Forward(std::int64_t newest_index, bool at_end);
  void ForwardNull(std::int64_t index);
  base::Result<base::FramePtr> Fitted(base::FramePtr picture);

  const OutputPlan& plan_;
  OutputEntrance& entrance_;
  Pacer& pacer_;
  RunControl& control_;
  std::optional<base::VideoEncoder> encoder_;
  BoundedQueue<WriteItem> packets_;
  std::unique_ptr<PicturePool> pool_;
  PictureScaler scaler_;
  std::int64_t first_ns_ = 0;
  std::int64_t in_encoder_ = 0;  // pictures sent whose packets have not come out
  std::atomic<std::int64_t> busy_ns_{0};
  std::atomic<std::int64_t> elapsed_ns_{0};
  std::atomic<int> delay_frames_{0};
};

}  // namespace bench
