// SPDX-License-Identifier: Apache-2.0
//
// The encode stage: takes pictures from its entrance, hands packets to the writers of its outputs.

#pragma once

#include <atomic>
#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

#include "base/media/ffmpeg.h"
#include "base/media/video_encoder.h"
#include "bench/pipeline/output_entrance.h"
#include "bench/pipeline/packet_gate.h"
#include "bench/plan/output_plan.h"
#include "bench/stages/busy_seconds.h"
#include "bench/stages/pacer.h"
#include "bench/stages/picture_pool.h"
#include "bench/stages/picture_scaler.h"
#include "bench/stages/run_control.h"

namespace bench {

class EncodeStage {
 public:
  /// One gate: the encoder waits for its writer, and what that cannot take is
  /// dropped in front of the encoder. Several, in real time: each takes what it
  /// can, and none holds up the others.
  EncodeStage(const OutputPlan& plan, OutputEntrance& entrance, std::vector<PacketGate*> gates,
              Pacer& pacer, RunControl& control);

  /// Opens the encoder on the calling thread, which must be the one to Run():
  /// the library's threads then carry its name.
  base::Status Open(bool global_header);
  /// Until the entrance is closed and empty; closes the gates at the end.
  void Run();

  /// Null for the null encoder.
  const AVCodecContext* codec() const { return encoder_ ? &encoder_->context() : nullptr; }
  /// Share of the time since the first picture that the encoder was at work.
  double Busy() const;
  int delay_frames() const { return delay_frames_; }
  /// Pictures that went into the encoder.
  std::int64_t taken() const { return taken_; }
  /// Pictures that came out of the encoder.
  std::int64_t encoded() const { return encoded_; }
  /// Time in the encoder, picture by picture; in real time only.
  const BusySeconds& work() const { return work_; }

 private:
  base::Status Encode(EncodeItem item);
  base::Status Forward(std::int64_t newest_index, bool at_end);
  void ForwardNull(std::int64_t index);
  void HandOut(WriteItem item);
  base::Result<base::FramePtr> Fitted(base::FramePtr picture);

  const OutputPlan& plan_;
  OutputEntrance& entrance_;
  const std::vector<PacketGate*> gates_;
  const bool shared_in_real_time_;
  Pacer& pacer_;
  RunControl& control_;
  std::optional<base::VideoEncoder> encoder_;
  std::unique_ptr<PicturePool> pool_;
  PictureScaler scaler_;
  std::int64_t first_ns_ = 0;
  std::int64_t in_encoder_ = 0;  // pictures sent whose packets have not come out
  std::atomic<std::int64_t> busy_ns_{0};
  std::atomic<std::int64_t> elapsed_ns_{0};
  std::atomic<int> delay_frames_{0};
  std::atomic<std::int64_t> taken_{0};
  std::atomic<std::int64_t> encoded_{0};
  BusySeconds work_;
};

}  // namespace bench
