// SPDX-License-Identifier: Apache-2.0
//
// Video functions of one configuration: control interfaces, streams, formats, frames, intervals.

#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "probes/data/usb.h"
#include "probes/usb/descriptor_walk.h"
#include "probes/usb/uvc_control.h"
#include "probes/usb/uvc_formats.h"

namespace probes {

/// Takes the class-specific descriptors of video interfaces in the order of the
/// file. Counts that they claim are not used, only what follows counts.
class UvcReader {
 public:
  /// Another interface begins, of whatever class: frames never belong to the format of
  /// another one. Only the first alternate setting that has descriptors is taken.
  void BeginInterface(const UsbInterface& interface);
  void Take(const RawDescriptor& descriptor);

  std::vector<CaptureMode> TakeModes() { return std::move(modes_); }
  /// Each stream under the control interface whose header lists it; else under the one
  /// before it; else under a function without one (control_interface = -1).
  std::vector<VideoFunction> TakeFunctions();
  const std::string& fault() const { return fault_; }

 private:
  enum class Open { kNothing, kControl, kStream };

  void TakeStreaming(const RawDescriptor& descriptor);
  void TakeHeader(const RawDescriptor& descriptor, bool input);
  void TakeFormat(const RawDescriptor& descriptor, const UvcFormatLayout& layout);
  void TakeFrame(const RawDescriptor& descriptor, const UvcFrameLayout& layout);
  void TakeIntervals(const RawDescriptor& descriptor, const UvcFrameLayout& layout,
                     CaptureMode& mode);
  void TakeStillImage(Bytes bytes);
  void Note(const RawDescriptor& descriptor, std::string_view what);
  VideoFormat* LastFormat();
  UvcControlReader* ControlOf(const VideoStream& stream, std::size_t controls_before);

  struct FoundStream {
    VideoStream stream;
    std::size_t controls_before = 0;
    bool taken = false;  // something was read of it
  };

  Open open_ = Open::kNothing;
  std::size_t at_ = 0;                            // open control or stream
  const UvcFormatLayout* open_format_ = nullptr;  // that frames belong to
  std::string pixel_format_;
  int bits_per_pixel_ = 0;
  std::vector<UvcControlReader> controls_;
  std::vector<FoundStream> streams_;
  std::vector<CaptureMode> modes_;
  std::string fault_;
};

}  // namespace probes
