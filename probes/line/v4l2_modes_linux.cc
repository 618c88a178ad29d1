// SPDX-License-Identifier: Apache-2.0

#include "probes/line/v4l2_modes.h"

#include <fcntl.h>
#include <linux/videodev2.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cmath>
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "base/system/answer_within.h"
#include "probes/line/v4l2_formats.h"
#include "probes/line/v4l2_ioctl_linux.h"

namespace probes {
namespace {

using Modes = std::vector<CaptureMode>;

// A driver's lists end by themselves; one without an end is left here.
constexpr __u32 kMostEntries = 1024;

class OpenNode {
 public:
  explicit OpenNode(const std::string& node)
      : fd_(open(("/dev/" + node).c_str(), O_RDWR | O_NONBLOCK | O_CLOEXEC)) {}
  OpenNode(const OpenNode&) = delete;
  OpenNode& operator=(const OpenNode&) = delete;
  ~OpenNode() {
    if (fd_ >= 0) {
      close(fd_);
    }
  }
  int fd() const { return fd_; }

 private:
  int fd_;
};

std::int64_t In100Ns(const v4l2_fract& seconds) {
  constexpr double kUnitsPerSecond = 1e7;
  return seconds.denominator == 0 ? 0
                                  : static_cast<std::int64_t>(std::llround(
                                        kUnitsPerSecond * seconds.numerator / seconds.denominator));
}

void AddIntervals(int fd, __u32 code, CaptureMode& mode) {
  for (__u32 i = 0; i < kMostEntries; ++i) {
    v4l2_frmivalenum interval{};
    interval.index = i;
    interval.pixel_format = code;
    interval.width = static_cast<__u32>(mode.width);
    interval.height = static_cast<__u32>(mode.height);
    if (VideoCall(fd, VIDIOC_ENUM_FRAMEINTERVALS, &interval) != 0) {
      break;
    }
    if (interval.type != V4L2_FRMIVAL_TYPE_DISCRETE) {
      mode.intervals_100ns = {std::max<std::int64_t>(1, In100Ns(interval.stepwise.min)),
                              std::max<std::int64_t>(1, In100Ns(interval.stepwise.max))};
      mode.interval_step_100ns = std::max<std::int64_t>(1, In100Ns(interval.stepwise.step));
      break;
    }
    if (const std::int64_t discrete = In100Ns(interval.discrete); discrete > 0) {
      mode.intervals_100ns.push_back(discrete);
    }
  }
  std::sort(mode.intervals_100ns.begin(), mode.intervals_100ns.end());
}

/// False where the driver offers a range of sizes instead of a list.
bool AddSizes(int fd, __u32 code, Modes& modes) {
  for (__u32 i = 0; i < kMostEntries; ++i) {
    v4l2_frmsizeenum size{};
    size.index = i;
    size.pixel_format = code;
    if (VideoCall(fd, VIDIOC_ENUM_FRAMESIZES, &size) != 0) {
      break;
    }
    if (size.type != V4L2_FRMSIZE_TYPE_DISCRETE) {
      return false;
    }
    CaptureMode mode;
    mode.pixel_format = PixelFormatOfFourcc(code);
    mode.width = static_cast<int>(size.discrete.width);
    mode.height = static_cast<int>(size.discrete.height);
    AddIntervals(fd, code, mode);
    modes.push_back(std::move(mode));
  }
  return true;
}

base::Result<Modes> ListModes(const std::string& node) {
  const OpenNode opened(node);
  if (opened.fd() < 0) {
    return base::Error{base::ErrorKind::kIo, "", VideoAnswerOf(errno, "open").detail};
  }
  v4l2_capability capability{};
  if (const int error = VideoCall(opened.fd(), VIDIOC_QUERYCAP, &capability); error != 0) {
    return base::Error{base::ErrorKind::kIo, "", VideoAnswerOf(error, "VIDIOC_QUERYCAP").detail};
  }
  const __u32 can = (capability.capabilities & V4L2_CAP_DEVICE_CAPS) != 0 ? capability.device_caps
                                                                          : capability.capabilities;
  const bool planes = (can & V4L2_CAP_VIDEO_CAPTURE_MPLANE) != 0;
  Modes modes;
  if (!planes && (can & V4L2_CAP_VIDEO_CAPTURE) == 0) {
    return modes;
  }
  for (__u32 i = 0; i < kMostEntries; ++i) {
    v4l2_fmtdesc format{};
    format.type = planes ? V4L2_BUF_TYPE_VIDEO_CAPTURE_MPLANE : V4L2_BUF_TYPE_VIDEO_CAPTURE;
    format.index = i;
    if (VideoCall(opened.fd(), VIDIOC_ENUM_FMT, &format) != 0) {
      break;
    }
    if (!AddSizes(opened.fd(), format.pixelformat, modes)) {
      return base::Error{base::ErrorKind::kIo, "", "its driver offers a range of sizes, no list"};
    }
  }
  return modes;
}

}  // namespace

base::Result<Modes> AskVideoModes(const std::string& node) {
  constexpr std::chrono::seconds kLongestAnswer{5};
  struct Said {
    base::Result<Modes> modes = Modes{};
  };
  auto said = base::AnswerWithin<Said>(kLongestAnswer, [node] { return Said{ListModes(node)}; });
  if (!said) {
    return base::Error{base::ErrorKind::kIo, "", "its driver: " + said.error().detail};
  }
  return std::move(said->modes);
}

}  // namespace probes
