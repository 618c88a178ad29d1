// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/canvas_chain.h"

#include <exception>

#include "bench/stages/picture_scaler.h"
#include "bench/stages/stage_cpu.h"
#include "profiles/demand/pipeline_sizes.h"

namespace bench {

CanvasChain::CanvasChain(const CanvasSettings& settings, Draw draw,
                         std::vector<OutputEntrance*> takers, Pacer& pacer, RunControl& control)
    : settings_(settings),
      draw_(std::move(draw)),
      takers_(std::move(takers)),
      pacer_(pacer),
      control_(control),
      part_(pacer.Join()),
      pool_(kWorkingFormat, settings.raster.width, settings.raster.height) {}

void CanvasChain::Start(std::int64_t end_ns) {
  thread_ = std::jthread([this, end_ns] { Run(end_ns); });
}

void CanvasChain::Join() {
  if (thread_.joinable()) {
    thread_.join();
  }
  for (OutputEntrance* taker : takers_) {
    taker->Close();
  }
}

bool CanvasChain::DrawOne(std::int64_t index) {
  auto picture = pool_.Get();
  base::Status drawn = base::Done{};
  if (!picture) {
    drawn = picture.error();
  } else {
    drawn = draw_(static_cast<double>(DueNs(index, settings_.rate)) / 1e9, **picture);
  }
  if (!drawn) {
    control_.Stop(
        {StopPart::kCanvas, std::string(base::WordOf(settings_.stage)), drawn.error().detail});
    return false;
  }
  for (OutputEntrance* taker : takers_) {
    taker->Offer(**picture, index);
  }
  latest_.Set(std::move(*picture));
  ++drawn_;
  return true;
}

void CanvasChain::LeaveOut(std::int64_t index) {
  for (OutputEntrance* taker : takers_) {
    taker->Missed(index, settings_.stage);
  }
  ++skipped_;
}

void CanvasChain::Run(std::int64_t end_ns) {
  NameThread(settings_.thread, "");
  const std::int64_t lag_ns = DueNs(profiles::kComposeLagFrames, settings_.rate);
  try {
    for (std::int64_t index = 0;; ++index) {
      const std::int64_t due_ns = settings_.phase_ns + DueNs(index, settings_.rate);
      if (due_ns >= end_ns || !pacer_.WaitTurn(part_, due_ns)) {
        break;
      }
      for (OutputEntrance* taker : takers_) {
        taker->Due(index);
      }
      if (pacer_.RealTime() && pacer_.NowNs() > due_ns + lag_ns) {
        LeaveOut(index);
      } else if (!DrawOne(index)) {
        break;
      }
    }
  } catch (const std::exception& failure) {
    control_.Stop(
        {StopPart::kCanvas, std::string(base::WordOf(settings_.stage)), ShortageText(failure)});
  }
  pacer_.Leave(part_);
}

}  // namespace bench
