// SPDX-License-Identifier: Apache-2.0

#include "probes/line/v4l2_ioctl_linux.h"

#include <sys/ioctl.h>

#include <cerrno>
#include <system_error>

#include "probes/line/v4l2_formats.h"

namespace probes {
namespace {

/// Whether a signal arrives at an input with digital timings (HDMI, SDI).
std::string SignalComplaint(int fd) {
  v4l2_dv_timings timings{};
  switch (VideoCall(fd, VIDIOC_QUERY_DV_TIMINGS, &timings)) {
    case ENOLINK:
      return "no signal";
    case ENOLCK:
      return "unstable signal";
    case ERANGE:
      return "a signal that the device cannot take";
    default:
      return {};
  }
}

/// Total pixels of a picture with its blanking, twice the field's of an interlaced one.
std::int64_t TotalPixels(const v4l2_bt_timings& bt) {
  const std::int64_t columns = std::int64_t{bt.width} + bt.hfrontporch + bt.hsync + bt.hbackporch;
  const std::int64_t lines = std::int64_t{bt.height} + bt.vfrontporch + bt.vsync + bt.vbackporch +
                             bt.il_vfrontporch + bt.il_vsync + bt.il_vbackporch;
  return columns * lines;
}

}  // namespace

int VideoCall(int fd, unsigned long request, void* argument) {
  int done = 0;
  do {
    done = ioctl(fd, request, argument);
  } while (done != 0 && errno == EINTR);
  return done == 0 ? 0 : errno;
}

VideoAnswer VideoAnswerOf(int error_number, std::string_view call) {
  VideoAnswer answer;
  if (error_number == 0) {
    return answer;
  }
  answer.detail = std::string(call) + ": " + std::generic_category().message(error_number);
  switch (error_number) {
    case ENOSPC:
      answer.fault = VideoFault::kNoBandwidth;
      break;
    case EBUSY:
      answer.fault = VideoFault::kBusy;
      break;
    case ENODEV:
    case ENXIO:
    case ESHUTDOWN:
      answer.fault = VideoFault::kGone;
      break;
    case EACCES:
    case EPERM:
      answer.fault = VideoFault::kDenied;
      break;
    default:
      answer.fault = VideoFault::kRefused;
  }
  return answer;
}

std::string VideoInputStatus(int fd) {
  int index = 0;
  v4l2_input input{};
  if (VideoCall(fd, VIDIOC_G_INPUT, &index) != 0) {
    return {};
  }
  input.index = static_cast<__u32>(index);
  if (VideoCall(fd, VIDIOC_ENUMINPUT, &input) != 0) {
    return {};
  }
  if ((input.status & V4L2_IN_ST_NO_POWER) != 0) {
    return "no power";
  }
  if ((input.status & V4L2_IN_ST_NO_SIGNAL) != 0) {
    return "no signal";
  }
  if ((input.status & (V4L2_IN_ST_NO_SYNC | V4L2_IN_ST_NO_H_LOCK)) != 0) {
    return "no synchronisation with the signal";
  }
  return (input.capabilities & V4L2_IN_CAP_DV_TIMINGS) != 0 ? SignalComplaint(fd) : "";
}

LineMode VideoModeOf(const v4l2_format& format) {
  const bool planes = format.type == V4L2_BUF_TYPE_VIDEO_CAPTURE_MPLANE;
  LineMode mode;
  mode.pixel_format =
      PixelFormatOfFourcc(planes ? format.fmt.pix_mp.pixelformat : format.fmt.pix.pixelformat);
  mode.width = static_cast<int>(planes ? format.fmt.pix_mp.width : format.fmt.pix.width);
  mode.height = static_cast<int>(planes ? format.fmt.pix_mp.height : format.fmt.pix.height);
  return mode;
}

void ReadVideoRate(int fd, unsigned buffer_type, LineMode& mode) {
  v4l2_streamparm parameters{};
  parameters.type = buffer_type;
  if (VideoCall(fd, VIDIOC_G_PARM, &parameters) == 0) {
    const v4l2_fract& time = parameters.parm.capture.timeperframe;
    if (time.numerator > 0 && time.denominator > 0) {
      mode.rate_numerator = time.denominator;
      mode.rate_denominator = time.numerator;
      return;
    }
  }
  v4l2_dv_timings timings{};
  if (VideoCall(fd, VIDIOC_G_DV_TIMINGS, &timings) == 0 && timings.type == V4L2_DV_BT_656_1120 &&
      TotalPixels(timings.bt) > 0) {
    mode.rate_numerator = static_cast<std::int64_t>(timings.bt.pixelclock);
    mode.rate_denominator = TotalPixels(timings.bt);
  }
}

}  // namespace probes
