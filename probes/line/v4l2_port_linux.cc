// SPDX-License-Identifier: Apache-2.0

#include "probes/line/v4l2_port.h"

#include <fcntl.h>
#include <linux/videodev2.h>
#include <poll.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstddef>
#include <cstring>
#include <span>
#include <string>
#include <utility>

#include "base/text.h"
#include "probes/line/v4l2_formats.h"
#include "probes/line/v4l2_ioctl_linux.h"
#include "probes/line/v4l2_settings_linux.h"

namespace probes {
namespace {

constexpr unsigned kMostFormats = 256;
constexpr unsigned kLeastBuffers = 2;
constexpr std::int64_t kNsPerMs = 1'000'000;

/// Up to the first zero.
std::string TextOf(std::span<const __u8> bytes) {
  const std::string text(bytes.begin(), std::find(bytes.begin(), bytes.end(), 0));
  return base::Printable(text, bytes.size());
}

class LinuxVideoPort final : public VideoPort {
 public:
  explicit LinuxVideoPort(std::string path) : path_(std::move(path)) {}
  LinuxVideoPort(const LinuxVideoPort&) = delete;
  LinuxVideoPort& operator=(const LinuxVideoPort&) = delete;
  ~LinuxVideoPort() override { End(); }

  VideoAnswer Open() override {
    fd_ = open(path_.c_str(), O_RDWR | O_NONBLOCK | O_CLOEXEC);
    return fd_ >= 0 ? VideoAnswer{} : VideoAnswerOf(errno, "open");
  }

  VideoAnswer Identify(VideoIdentity& identity) override {
    v4l2_capability capability{};
    if (const int error = VideoCall(fd_, VIDIOC_QUERYCAP, &capability); error != 0) {
      return VideoAnswerOf(error, "VIDIOC_QUERYCAP");
    }
    const __u32 can = (capability.capabilities & V4L2_CAP_DEVICE_CAPS) != 0
                          ? capability.device_caps
                          : capability.capabilities;
    const bool planes = (can & V4L2_CAP_VIDEO_CAPTURE_MPLANE) != 0;
    type_ = planes ? V4L2_BUF_TYPE_VIDEO_CAPTURE_MPLANE : V4L2_BUF_TYPE_VIDEO_CAPTURE;
    identity.captures =
        (planes || (can & V4L2_CAP_VIDEO_CAPTURE) != 0) && (can & V4L2_CAP_STREAMING) != 0;
    identity.card = TextOf(capability.card);
    identity.driver = TextOf(capability.driver);
    if (identity.captures) {
      ListFormats();
      identity.pixel_formats.clear();
      for (const __u32 code : formats_) {
        const std::string name = PixelFormatOfFourcc(code);
        auto& names = identity.pixel_formats;
        if (std::find(names.begin(), names.end(), name) == names.end()) {
          names.push_back(name);
        }
      }
      identity.input_status = VideoInputStatus(fd_);
    }
    return {};
  }

  VideoAnswer KeepSettings(LineMode& now) override {
    VideoAnswer read = settings_.Read(fd_, type_);
    if (read.ok()) {
      now = VideoModeOf(settings_.format());
      ReadVideoRate(fd_, type_, now);
    }
    return read;
  }

  VideoAnswer Choose(const LineMode& asked, LineMode& got) override {
    v4l2_format format = settings_.format();
    const __u32 code = CodeFor(asked.pixel_format, format);
    if (type_ == V4L2_BUF_TYPE_VIDEO_CAPTURE_MPLANE) {
      SetSize(asked, code, format.fmt.pix_mp);
      std::memset(format.fmt.pix_mp.plane_fmt, 0, sizeof(format.fmt.pix_mp.plane_fmt));
    } else {
      SetSize(asked, code, format.fmt.pix);
      format.fmt.pix.bytesperline = 0;
      format.fmt.pix.sizeimage = 0;
    }
    if (const int error = VideoCall(fd_, VIDIOC_S_FMT, &format); error != 0) {
      return VideoAnswerOf(error, "VIDIOC_S_FMT");
    }
    if (settings_.rate_can_be_set() && asked.rate_numerator > 0) {
      v4l2_streamparm parameters{};
      parameters.type = type_;
      parameters.parm.capture.timeperframe.numerator = static_cast<__u32>(asked.rate_denominator);
      parameters.parm.capture.timeperframe.denominator = static_cast<__u32>(asked.rate_numerator);
      if (const int error = VideoCall(fd_, VIDIOC_S_PARM, &parameters); error != 0) {
        return VideoAnswerOf(error, "VIDIOC_S_PARM");
      }
    }
    got = VideoModeOf(format);
    ReadVideoRate(fd_, type_, got);
    return {};
  }

  VideoAnswer StartStreaming(int buffers, StreamStart& stream) override;
  VideoWait Await(std::int64_t longest_ns, PictureStamp& picture) override;
  std::string TimestampClock() const override { return clock_; }
  void StopStreaming() override;

  base::Reading<bool> PutBackSettings() override {
    if (!settings_.known() || fd_ < 0) {
      return base::Reading<bool>::Unknown("the settings were never read");
    }
    put_back_ = true;
    return settings_.PutBack(fd_);
  }

  void Close() override {
    if (fd_ >= 0) {
      close(fd_);
      fd_ = -1;
    }
  }

 private:
  void End() {
    StopStreaming();
    if (!put_back_) {
      static_cast<void>(PutBackSettings());
    }
    Close();
  }

  template <typename Format>
  static void SetSize(const LineMode& asked, __u32 code, Format& format) {
    format.width = static_cast<__u32>(asked.width);
    format.height = static_cast<__u32>(asked.height);
    format.pixelformat = code;
    format.field = V4L2_FIELD_ANY;
  }

  void ListFormats() {
    formats_.clear();
    for (unsigned i = 0; i < kMostFormats; ++i) {
      v4l2_fmtdesc description{};
      description.type = type_;
      description.index = i;
      if (VideoCall(fd_, VIDIOC_ENUM_FMT, &description) != 0) {
        break;
      }
      formats_.push_back(description.pixelformat);
    }
  }

  /// The code that the device lists for a format, else the format's first one, else what is set.
  __u32 CodeFor(const std::string& pixel_format, const v4l2_format& now) const {
    const std::vector<std::uint32_t> codes = FourccsOfPixelFormat(pixel_format);
    for (const std::uint32_t code : codes) {
      if (std::find(formats_.begin(), formats_.end(), code) != formats_.end()) {
        return code;
      }
    }
    if (!codes.empty()) {
      return codes.front();
    }
    return type_ == V4L2_BUF_TYPE_VIDEO_CAPTURE_MPLANE ? now.fmt.pix_mp.pixelformat
                                                       : now.fmt.pix.pixelformat;
  }

  /// A buffer to name in a call; `planes` must live as long.
  v4l2_buffer Buffer(__u32 index, std::array<v4l2_plane, VIDEO_MAX_PLANES>& planes) const {
    v4l2_buffer buffer{};
    buffer.type = type_;
    buffer.memory = V4L2_MEMORY_MMAP;
    buffer.index = index;
    if (type_ == V4L2_BUF_TYPE_VIDEO_CAPTURE_MPLANE) {
      buffer.m.planes = planes.data();
      buffer.length = VIDEO_MAX_PLANES;
    }
    return buffer;
  }

  int GiveBack(__u32 index) const {
    std::array<v4l2_plane, VIDEO_MAX_PLANES> planes{};
    v4l2_buffer buffer = Buffer(index, planes);
    return VideoCall(fd_, VIDIOC_QBUF, &buffer);
  }

  VideoWait Take(PictureStamp& picture);

  std::string path_;
  int fd_ = -1;
  __u32 type_ = V4L2_BUF_TYPE_VIDEO_CAPTURE;
  std::vector<__u32> formats_;
  VideoSettings settings_;
  bool put_back_ = false;
  bool buffers_asked_ = false;
  bool streaming_ = false;
  std::string clock_;
};

VideoAnswer LinuxVideoPort::StartStreaming(int buffers, StreamStart& stream) {
  v4l2_requestbuffers request{};
  request.count = static_cast<__u32>(buffers);
  request.type = type_;
  request.memory = V4L2_MEMORY_MMAP;
  if (const int error = VideoCall(fd_, VIDIOC_REQBUFS, &request); error != 0) {
    return VideoAnswerOf(error, "VIDIOC_REQBUFS");
  }
  buffers_asked_ = true;
  if (request.count < kLeastBuffers) {
    return {VideoFault::kRefused, "the driver gives fewer than two buffers"};
  }
  stream.buffers = static_cast<int>(request.count);
  // The buffers lie in the kernel: nobody here looks at the pictures, so they are not mapped.
  for (__u32 index = 0; index < request.count; ++index) {
    if (const int error = GiveBack(index); error != 0) {
      return VideoAnswerOf(error, "VIDIOC_QBUF");
    }
  }
  __u32 type = type_;
  if (const int error = VideoCall(fd_, VIDIOC_STREAMON, &type); error != 0) {
    return VideoAnswerOf(error, "VIDIOC_STREAMON");
  }
  streaming_ = true;
  return {};
}

VideoWait LinuxVideoPort::Take(PictureStamp& picture) {
  std::array<v4l2_plane, VIDEO_MAX_PLANES> planes{};
  v4l2_buffer buffer = Buffer(0, planes);
  const int error = VideoCall(fd_, VIDIOC_DQBUF, &buffer);
  if (error == EAGAIN) {
    return {};
  }
  if (error != 0) {
    return {VideoAnswerOf(error, "VIDIOC_DQBUF"), false};
  }
  picture.number = buffer.sequence;
  picture.timestamp_ns =
      std::int64_t{buffer.timestamp.tv_sec} * 1'000'000'000 + buffer.timestamp.tv_usec * 1000;
  picture.flagged = (buffer.flags & V4L2_BUF_FLAG_ERROR) != 0;
  picture.bytes = buffer.bytesused;
  if (type_ == V4L2_BUF_TYPE_VIDEO_CAPTURE_MPLANE) {
    picture.bytes = 0;
    for (__u32 plane = 0; plane < std::min<__u32>(buffer.length, VIDEO_MAX_PLANES); ++plane) {
      picture.bytes += std::int64_t{planes[plane].bytesused} - planes[plane].data_offset;
    }
  }
  const __u32 clock = buffer.flags & V4L2_BUF_FLAG_TIMESTAMP_MASK;
  clock_ = clock == V4L2_BUF_FLAG_TIMESTAMP_MONOTONIC ? "monotonic"
           : clock == V4L2_BUF_FLAG_TIMESTAMP_COPY    ? "copied"
                                                      : "unknown";
  if (const int queued = GiveBack(buffer.index); queued != 0) {
    return {VideoAnswerOf(queued, "VIDIOC_QBUF"), true};
  }
  return {{}, true};
}

VideoWait LinuxVideoPort::Await(std::int64_t longest_ns, PictureStamp& picture) {
  pollfd waiting{fd_, POLLIN, 0};
  const int ready = poll(&waiting, 1, static_cast<int>(longest_ns / kNsPerMs) + 1);
  if (ready < 0 && errno != EINTR) {
    return {VideoAnswerOf(errno, "poll"), false};
  }
  if (ready <= 0) {
    return {};
  }
  VideoWait taken = Take(picture);
  if (taken.answer.ok() && !taken.picture && (waiting.revents & (POLLERR | POLLHUP)) != 0) {
    taken.answer = {VideoFault::kRefused, "the driver stopped the stream with an error"};
  }
  return taken;
}

void LinuxVideoPort::StopStreaming() {
  if (fd_ < 0) {
    return;
  }
  if (streaming_) {
    __u32 type = type_;
    static_cast<void>(VideoCall(fd_, VIDIOC_STREAMOFF, &type));
    streaming_ = false;
  }
  if (buffers_asked_) {
    // Formats can only be set while there are no buffers.
    v4l2_requestbuffers request{};
    request.type = type_;
    request.memory = V4L2_MEMORY_MMAP;
    static_cast<void>(VideoCall(fd_, VIDIOC_REQBUFS, &request));
    buffers_asked_ = false;
  }
}

}  // namespace

std::unique_ptr<VideoPort> MakeVideoPort(const std::string& node) {
  return std::make_unique<LinuxVideoPort>("/dev/" + node);
}

}  // namespace probes
