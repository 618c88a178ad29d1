// SPDX-License-Identifier: Apache-2.0
//
// Drawing the program picture and the multiview from the sources' newest pictures.

#pragma once

#include <span>
#include <vector>

#include "base/media/ffmpeg.h"
#include "base/result.h"
#include "bench/stages/picture_scaler.h"

namespace bench {

/// All of `picture` in black (working format, video range).
void PaintBlack(AVFrame& picture);

/// The program: one source fills it, the next stands small in a corner. The
/// source on air changes every `kSecondsOnAir`, as an operator would cut.
class ProgramComposer {
 public:
  static constexpr double kSecondsOnAir = 8;

  explicit ProgramComposer(std::size_t sources) : scalers_(sources * 2) {}

  /// Null pictures (sources that have sent nothing yet) stay black.
  base::Status Compose(std::span<const base::FramePtr> pictures, double at_seconds, AVFrame& onto);

 private:
  std::vector<PictureScaler> scalers_;  // per source: filling, and in the corner
};

/// Where each of `tiles` pictures stands in a multiview: a grid as square as it goes.
std::vector<Area> MultiviewTiles(int tiles, int width, int height);

class MultiviewComposer {
 public:
  MultiviewComposer(std::size_t tiles, int width, int height);

  base::Status Compose(std::span<const base::FramePtr> pictures, AVFrame& onto);

 private:
  std::vector<Area> areas_;
  std::vector<PictureScaler> scalers_;
};

}  // namespace bench
