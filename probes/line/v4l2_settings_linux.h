// SPDX-License-Identifier: Apache-2.0
//
// What a capture device keeps between programs: format, rate, cropping, scaling; read and put back.

#pragma once

#include <linux/videodev2.h>

#include <optional>

#include "base/reading.h"
#include "probes/line/v4l2_port.h"

namespace probes {

/// Reading comes first; putting back changes only what differs from what was read.
class VideoSettings {
 public:
  /// `buffer_type`: V4L2_BUF_TYPE_VIDEO_CAPTURE or its multi-planar kind.
  VideoAnswer Read(int fd, unsigned buffer_type);
  bool known() const { return known_; }
  const v4l2_format& format() const { return format_; }
  bool rate_can_be_set() const;

  /// Whether all reads as it did, after putting back what did not.
  base::Reading<bool> PutBack(int fd) const;

 private:
  bool known_ = false;
  v4l2_format format_{};
  std::optional<v4l2_streamparm> rate_;
  std::optional<v4l2_rect> crop_;
  std::optional<v4l2_rect> compose_;
};

}  // namespace probes
