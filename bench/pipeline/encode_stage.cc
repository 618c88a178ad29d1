// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/encode_stage.h"

#include <algorithm>
#include <chrono>
#include <utility>

namespace bench {
namespace {

std::int64_t SteadyNs() {
  return std::chrono::duration_cast<std::chrono::nanoseconds>(
             std::chrono::steady_clock::now().time_since_epoch())
      .count();
}

}  // namespace

EncodeStage::EncodeStage(const OutputPlan& plan, OutputEntrance& entrance,
                         std::vector<PacketGate*> gates, Pacer& pacer, RunControl& control)
    : plan_(plan),
      entrance_(entrance),
      gates_(std::move(gates)),
      shared_in_real_time_(gates_.size() > 1 && pacer.RealTime()),
      pacer_(pacer),
      control_(control) {
  entrance_.ChargeBy([this] {
    // A single encoder waits for a writer that cannot keep up: the writer is to blame.
    return gates_.size() == 1 && gates_.front()->queue().Full() ? gates_.front()->stage()
                                                                : Stage::kEncode;
  });
  control_.OnStop([this] {
    entrance_.queue().Close();
    for (PacketGate* gate : gates_) {
      gate->queue().Close();
    }
  });
}

base::Status EncodeStage::Open(bool global_header) {
  if (plan_.encoder == "null") {
    return base::Done{};
  }
  base::VideoEncoderSettings settings;
  settings.encoder = plan_.encoder;
  settings.width = plan_.output.raster.width;
  settings.height = plan_.output.raster.height;
  settings.rate = plan_.output.rate;
  settings.bits_per_second = plan_.output.bitrate_kbps * 1000LL;
  settings.threads = plan_.threads;
  settings.global_header = global_header;
  settings.options = plan_.encoder_options;
  auto encoder = base::VideoEncoder::Open(settings);
  if (!encoder) {
    return encoder.error();
  }
  encoder_.emplace(std::move(*encoder));
  return base::Done{};
}

base::Result<base::FramePtr> EncodeStage::Fitted(base::FramePtr picture) {
  const profiles::Raster& raster = plan_.output.raster;
  if (picture->width == raster.width && picture->height == raster.height) {
    return picture;
  }
  if (!pool_) {
    pool_ = std::make_unique<PicturePool>(kWorkingFormat, raster.width, raster.height);
  }
  auto fitted = pool_->Get();
  if (fitted) {
    const Area whole{0, 0, raster.width, raster.height};
    if (auto drawn = scaler_.Draw(*picture, **fitted, whole); !drawn) {
      return drawn.error();
    }
  }
  return fitted;
}

void EncodeStage::HandOut(WriteItem item) {
  ++encoded_;
  // Once the cameras have ended nobody is held up any more.
  const bool wait = !shared_in_real_time_ || item.at_end;
  for (std::size_t i = 0; i + 1 < gates_.size(); ++i) {
    gates_[i]->Hand({base::Share(*item.packet), false, item.at_end, item.newest_due_ns}, wait);
  }
  gates_.back()->Hand(std::move(item), wait);
}

void EncodeStage::ForwardNull(std::int64_t index) {
  WriteItem item;
  item.packet = base::NewPacket();
  item.packet->pts = item.packet->dts = index;
  item.packet->flags = AV_PKT_FLAG_KEY;
  item.newest_due_ns = entrance_.OutputDueNs(index);
  HandOut(std::move(item));
}

base::Status EncodeStage::Forward(std::int64_t newest_index, bool at_end) {
  for (;;) {
    WriteItem item;
    item.packet = base::NewPacket();
    const std::int64_t begun = SteadyNs();
    const auto got = encoder_->Receive(*item.packet);
    busy_ns_ += SteadyNs() - begun;
    if (!got) {
      return got.error();
    }
    if (!*got) {
      return base::Done{};
    }
    item.at_end = at_end;
    item.newest_due_ns = entrance_.OutputDueNs(newest_index);
    --in_encoder_;
    HandOut(std::move(item));
  }
}

base::Status EncodeStage::Encode(EncodeItem item) {
  ++taken_;
  const std::int64_t begun = SteadyNs();
  if (first_ns_ == 0) {
    first_ns_ = begun;
  }
  auto picture = Fitted(std::move(item.picture));
  if (!picture) {
    return picture.error();
  }
  if (!encoder_) {
    ForwardNull(item.index);
    return base::Done{};
  }
  if (auto sent = encoder_->Send(**picture, item.index); !sent) {
    return sent;
  }
  const std::int64_t sent_in_ns = SteadyNs() - begun;
  busy_ns_ += sent_in_ns;
  if (pacer_.RealTime()) {
    const std::int64_t now_ns = pacer_.NowNs();
    work_.Add(now_ns - sent_in_ns, now_ns);
  }
  ++in_encoder_;
  auto forwarded = Forward(item.index, false);
  delay_frames_ = std::max(delay_frames_.load(), static_cast<int>(in_encoder_));
  elapsed_ns_ = SteadyNs() - first_ns_;
  return forwarded;
}

void EncodeStage::Run() {
  std::int64_t newest_index = 0;
  base::Status status = base::Done{};
  while (auto item = entrance_.queue().Pop()) {
    if (control_.stopped()) {
      break;
    }
    newest_index = item->index;
    status = Encode(std::move(*item));
    if (!status) {
      break;
    }
  }
  if (status && encoder_ && !control_.stopped()) {
    status = encoder_->Drain();
    if (status) {
      status = Forward(newest_index, true);
    }
  }
  if (!status) {
    control_.Stop(
        {StopPart::kEncode, plan_.encode_name, plan_.encoder + ": " + status.error().detail});
  }
  for (PacketGate* gate : gates_) {
    gate->Close();
  }
}

double EncodeStage::Busy() const {
  const std::int64_t elapsed = elapsed_ns_;
  return elapsed <= 0 ? 0
                      : std::min(1.0, static_cast<double>(busy_ns_) / static_cast<double>(elapsed));
}

}  // namespace bench
