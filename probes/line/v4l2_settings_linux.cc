// SPDX-License-Identifier: Apache-2.0

#include "probes/line/v4l2_settings_linux.h"

#include <string>

#include "probes/line/v4l2_ioctl_linux.h"

namespace probes {
namespace {

using base::Reading;

/// Selections take the single-planar type for both kinds (Linux 4.13 and later).
std::optional<v4l2_rect> ReadSelection(int fd, unsigned target) {
  v4l2_selection selection{};
  selection.type = V4L2_BUF_TYPE_VIDEO_CAPTURE;
  selection.target = target;
  if (VideoCall(fd, VIDIOC_G_SELECTION, &selection) != 0) {
    return std::nullopt;
  }
  return selection.r;
}

void WriteSelection(int fd, unsigned target, const v4l2_rect& rectangle) {
  v4l2_selection selection{};
  selection.type = V4L2_BUF_TYPE_VIDEO_CAPTURE;
  selection.target = target;
  selection.r = rectangle;
  // Whether it worked is told by reading again.
  static_cast<void>(VideoCall(fd, VIDIOC_S_SELECTION, &selection));
}

bool Same(const std::optional<v4l2_rect>& a, const std::optional<v4l2_rect>& b) {
  if (!a || !b) {
    return a.has_value() == b.has_value();
  }
  return a->left == b->left && a->top == b->top && a->width == b->width && a->height == b->height;
}

bool Same(const v4l2_pix_format& a, const v4l2_pix_format& b) {
  return a.width == b.width && a.height == b.height && a.pixelformat == b.pixelformat &&
         a.field == b.field && a.bytesperline == b.bytesperline && a.sizeimage == b.sizeimage &&
         a.colorspace == b.colorspace;
}

bool Same(const v4l2_pix_format_mplane& a, const v4l2_pix_format_mplane& b) {
  bool same = a.width == b.width && a.height == b.height && a.pixelformat == b.pixelformat &&
              a.field == b.field && a.colorspace == b.colorspace && a.num_planes == b.num_planes;
  for (unsigned plane = 0; same && plane < a.num_planes && plane < VIDEO_MAX_PLANES; ++plane) {
    same = a.plane_fmt[plane].sizeimage == b.plane_fmt[plane].sizeimage &&
           a.plane_fmt[plane].bytesperline == b.plane_fmt[plane].bytesperline;
  }
  return same;
}

bool Same(const v4l2_format& a, const v4l2_format& b) {
  return a.type == V4L2_BUF_TYPE_VIDEO_CAPTURE_MPLANE ? Same(a.fmt.pix_mp, b.fmt.pix_mp)
                                                      : Same(a.fmt.pix, b.fmt.pix);
}

bool Same(const std::optional<v4l2_streamparm>& a, const std::optional<v4l2_streamparm>& b) {
  if (!a || !b) {
    return a.has_value() == b.has_value();
  }
  const v4l2_fract& left = a->parm.capture.timeperframe;
  const v4l2_fract& right = b->parm.capture.timeperframe;
  return std::uint64_t{left.numerator} * right.denominator ==
         std::uint64_t{right.numerator} * left.denominator;
}

}  // namespace

VideoAnswer VideoSettings::Read(int fd, unsigned buffer_type) {
  format_ = {};
  format_.type = buffer_type;
  if (const int error = VideoCall(fd, VIDIOC_G_FMT, &format_); error != 0) {
    return VideoAnswerOf(error, "VIDIOC_G_FMT");
  }
  v4l2_streamparm rate{};
  rate.type = buffer_type;
  const bool told = VideoCall(fd, VIDIOC_G_PARM, &rate) == 0;
  rate_ = told ? std::optional(rate) : std::nullopt;
  crop_ = ReadSelection(fd, V4L2_SEL_TGT_CROP);
  compose_ = ReadSelection(fd, V4L2_SEL_TGT_COMPOSE);
  known_ = true;
  return {};
}

bool VideoSettings::rate_can_be_set() const {
  return rate_ && (rate_->parm.capture.capability & V4L2_CAP_TIMEPERFRAME) != 0;
}

Reading<bool> VideoSettings::PutBack(int fd) const {
  VideoSettings now;
  if (VideoAnswer read = now.Read(fd, format_.type); !read.ok()) {
    return Reading<bool>::Unknown(read.detail);
  }
  if (!Same(format_, now.format_)) {
    v4l2_format before = format_;
    static_cast<void>(VideoCall(fd, VIDIOC_S_FMT, &before));
  }
  // A format may move the rectangles and the rate: those come after it.
  if (crop_ && !Same(crop_, ReadSelection(fd, V4L2_SEL_TGT_CROP))) {
    WriteSelection(fd, V4L2_SEL_TGT_CROP, *crop_);
  }
  if (compose_ && !Same(compose_, ReadSelection(fd, V4L2_SEL_TGT_COMPOSE))) {
    WriteSelection(fd, V4L2_SEL_TGT_COMPOSE, *compose_);
  }
  if (VideoAnswer read = now.Read(fd, format_.type); !read.ok()) {
    return Reading<bool>::Unknown(read.detail);
  }
  if (rate_ && !Same(rate_, now.rate_)) {
    v4l2_streamparm before = *rate_;
    static_cast<void>(VideoCall(fd, VIDIOC_S_PARM, &before));
  }
  if (VideoAnswer read = now.Read(fd, format_.type); !read.ok()) {
    return Reading<bool>::Unknown(read.detail);
  }
  return Same(format_, now.format_) && Same(rate_, now.rate_) && Same(crop_, now.crop_) &&
         Same(compose_, now.compose_);
}

}  // namespace probes
