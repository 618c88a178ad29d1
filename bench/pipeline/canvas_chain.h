// SPDX-License-Identifier: Apache-2.0
//
// A picture that the PC draws itself, on time: the program or the multiview.

#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <string_view>
#include <thread>
#include <vector>

#include "base/rational.h"
#include "bench/pipeline/output_entrance.h"
#include "bench/stages/latest_picture.h"
#include "bench/stages/pacer.h"
#include "bench/stages/picture_pool.h"
#include "bench/stages/run_control.h"
#include "profiles/profile.h"

namespace bench {

struct CanvasSettings {
  std::string_view thread;     // kProgramThread or kMultiviewThread
  Stage stage = Stage::kNone;  // what a picture that is too late is charged to
  profiles::Raster raster;
  base::Rational rate{30};
  std::int64_t phase_ns = 0;
};

class CanvasChain {
 public:
  /// Draws onto a picture of undefined contents for the production time in seconds.
  using Draw = std::function<base::Status(double at_seconds, AVFrame& onto)>;

  CanvasChain(const CanvasSettings& settings, Draw draw, std::vector<OutputEntrance*> takers,
              Pacer& pacer, RunControl& control);

  void Start(std::int64_t end_ns);
  /// Waits for the last picture, then closes the takers.
  void Join();

  const LatestPicture& latest() const { return latest_; }
  std::int64_t drawn() const { return drawn_; }
  std::int64_t skipped() const { return skipped_; }

 private:
  void Run(std::int64_t end_ns);
  /// Too far behind: a picture is left out to catch up, as every live program must.
  void LeaveOut(std::int64_t index);
  bool DrawOne(std::int64_t index);

  const CanvasSettings settings_;
  const Draw draw_;
  const std::vector<OutputEntrance*> takers_;
  Pacer& pacer_;
  RunControl& control_;
  const int part_;
  PicturePool pool_;
  LatestPicture latest_;
  std::atomic<std::int64_t> drawn_{0};
  std::atomic<std::int64_t> skipped_{0};
  std::jthread thread_;
};

}  // namespace bench
