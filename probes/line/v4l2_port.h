// SPDX-License-Identifier: Apache-2.0
//
// One capture node, as far as a line-check needs it: the door to a driver, real or scripted.

#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "base/reading.h"
#include "probes/data/line_check.h"
#include "probes/line/v4l2_pictures.h"

namespace probes {

/// Why a driver refused.
enum class VideoFault {
  kNone,
  kNoBandwidth,  // ENOSPC: the bus has no room for the stream
  kBusy,         // EBUSY: another process streams
  kGone,         // ENODEV, ENXIO: the device went away
  kDenied,       // EACCES, EPERM
  kRefused,      // anything else
};

struct VideoAnswer {
  VideoFault fault = VideoFault::kNone;
  std::string detail;  // "VIDIOC_STREAMON: No space left on device"

  bool ok() const { return fault == VideoFault::kNone; }
};

/// What a node says of itself.
struct VideoIdentity {
  bool captures = false;  // video capture and streaming, single- or multi-planar
  std::string card;
  std::string driver;
  std::vector<std::string> pixel_formats;
  std::string input_status;  // "no signal" and the like; empty: nothing to complain of
};

/// What streaming was started with.
struct StreamStart {
  int buffers = 0;
};

/// One wait for a picture.
struct VideoWait {
  VideoAnswer answer;
  bool picture = false;  // false and ok: none came in time
};

/// Calls come from one thread, in this order: Open, Identify, KeepSettings, Choose
/// (or not), StartStreaming, Await ..., StopStreaming, PutBackSettings, Close. Whatever
/// failed, the last three may be called, and the destructor does what they would.
class VideoPort {
 public:
  VideoPort() = default;
  virtual ~VideoPort() = default;
  VideoPort(const VideoPort&) = delete;
  VideoPort& operator=(const VideoPort&) = delete;

  virtual VideoAnswer Open() = 0;
  virtual VideoAnswer Identify(VideoIdentity& identity) = 0;
  /// Reads format, rate, cropping and scaling, to be put back; `now` gets the mode.
  virtual VideoAnswer KeepSettings(LineMode& now) = 0;
  /// Asks for a mode; `got` is what the driver made of it.
  virtual VideoAnswer Choose(const LineMode& asked, LineMode& got) = 0;
  virtual VideoAnswer StartStreaming(int buffers, StreamStart& stream) = 0;
  /// Takes the next picture and gives its buffer back; `arrived_ns` is left to the caller.
  virtual VideoWait Await(std::int64_t longest_ns, PictureStamp& picture) = 0;
  /// The clock of the timestamps, once a picture came: "monotonic", "unknown", "copied".
  virtual std::string TimestampClock() const = 0;
  virtual void StopStreaming() = 0;
  /// Puts back what KeepSettings read, where it differs, and reads again:
  /// whether all is as before.
  virtual base::Reading<bool> PutBackSettings() = 0;
  virtual void Close() = 0;
};

/// The port of "/dev/NODE".
std::unique_ptr<VideoPort> MakeVideoPort(const std::string& node);

}  // namespace probes
