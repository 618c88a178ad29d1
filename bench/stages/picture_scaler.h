// SPDX-License-Identifier: Apache-2.0
//
// Converts and scales pictures; keeps the tables for one pair of shapes.

#pragma once

#include "base/media/ffmpeg.h"
#include "base/result.h"

namespace bench {

/// The form that pictures have between capture and encoder: 8-bit 4:2:0 planar.
inline constexpr AVPixelFormat kWorkingFormat = AV_PIX_FMT_YUV420P;

/// Where in a picture something is drawn; even numbers.
struct Area {
  int left = 0;
  int top = 0;
  int width = 0;
  int height = 0;
};

class PictureScaler {
 public:
  /// Draws all of `from` into `area` of `onto` (kWorkingFormat), any size and
  /// pixel format that swscale reads. Same size and format: a plain copy.
  base::Status Draw(const AVFrame& from, AVFrame& onto, const Area& area);

 private:
  base::ScalerPtr scaler_;
  int from_width_ = 0;
  int from_height_ = 0;
  int from_format_ = -1;
  int to_width_ = 0;
  int to_height_ = 0;
};

}  // namespace bench
