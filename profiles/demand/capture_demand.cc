// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/capture_demand.h"

#include "profiles/pixel_formats.h"

namespace profiles {

CapturePayload CapturePayloadOf(const Source& source) {
  const PixelFormat* const format = FindPixelFormat(source.pixel_format);
  if (source.arrives_by == ArrivesBy::kNetwork || format == nullptr) {
    return {};
  }
  CapturePayload payload;
  payload.frame_bytes = FrameBytes(*format, source.raster);
  payload.bytes_per_second = base::ToDouble(source.rate, payload.frame_bytes);
  payload.assumed = format->compressed;
  return payload;
}

}  // namespace profiles
