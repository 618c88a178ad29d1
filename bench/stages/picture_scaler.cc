// SPDX-License-Identifier: Apache-2.0

#include "bench/stages/picture_scaler.h"

#include <array>

extern "C" {
#include <libavutil/imgutils.h>
}

namespace bench {
namespace {

/// Plane pointers of `picture` moved to the top left of `area` (4:2:0 planar).
std::array<std::uint8_t*, 4> PlanesAt(const AVFrame& picture, const Area& area) {
  std::array<std::uint8_t*, 4> planes{};
  for (std::size_t plane = 0; plane < 3; ++plane) {
    const int shift = plane == 0 ? 0 : 1;
    planes[plane] = picture.data[plane] +
                    static_cast<std::ptrdiff_t>(area.top >> shift) * picture.linesize[plane] +
                    (area.left >> shift);
  }
  return planes;
}

}  // namespace

base::Status PictureScaler::Draw(const AVFrame& from, AVFrame& onto, const Area& area) {
  auto planes = PlanesAt(onto, area);
  if (from.width == area.width && from.height == area.height && from.format == kWorkingFormat) {
    const std::array<const std::uint8_t*, 4> source{from.data[0], from.data[1], from.data[2],
                                                    nullptr};
    av_image_copy(planes.data(), onto.linesize, const_cast<const std::uint8_t**>(source.data()),
                  from.linesize, kWorkingFormat, area.width, area.height);
    return base::Done{};
  }
  if (!scaler_ || from.width != from_width_ || from.height != from_height_ ||
      from.format != from_format_ || area.width != to_width_ || area.height != to_height_) {
    scaler_.reset(sws_getContext(from.width, from.height, static_cast<AVPixelFormat>(from.format),
                                 area.width, area.height, kWorkingFormat, SWS_FAST_BILINEAR,
                                 nullptr, nullptr, nullptr));
    from_width_ = from.width;
    from_height_ = from.height;
    from_format_ = from.format;
    to_width_ = area.width;
    to_height_ = area.height;
  }
  if (!scaler_) {
    return base::FromFfmpeg(AVERROR(EINVAL), "picture conversion");
  }
  const int lines = sws_scale(scaler_.get(), from.data, from.linesize, 0, from.height,
                              planes.data(), onto.linesize);
  if (lines <= 0) {
    return base::FromFfmpeg(lines < 0 ? lines : AVERROR(EINVAL), "picture conversion");
  }
  return base::Done{};
}

}  // namespace bench
