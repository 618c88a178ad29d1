// SPDX-License-Identifier: Apache-2.0
//
// Formats, frames and intervals that a UVC VideoStreaming interface declares.

#pragma once

#include <string>
#include <vector>

#include "probes/data/usb.h"
#include "probes/usb_descriptor_walk.h"

namespace probes {

/// Takes the class-specific descriptors of VideoStreaming interfaces in the order
/// of the file. Counts that they claim are not used, only what follows counts.
class UvcModeReader {
 public:
  /// A new interface begins: frames never belong to the format of another one.
  void BeginInterface() { open_format_ = 0; }
  void Take(const RawDescriptor& descriptor);

  std::vector<CaptureMode> TakeModes() { return std::move(modes_); }
  const std::string& fault() const { return fault_; }

 private:
  void TakeFormat(const RawDescriptor& descriptor, int subtype);
  void TakeFrame(const RawDescriptor& descriptor, int subtype);
  void Note(const RawDescriptor& descriptor, std::string_view what);

  int open_format_ = 0;  // subtype of the format that frames belong to; 0 = none
  std::string pixel_format_;
  int bits_per_pixel_ = 0;
  std::vector<CaptureMode> modes_;
  std::string fault_;
};

/// Our name of a format GUID (16 bytes as in the descriptor): "yuyv422"; else its
/// four characters in small letters; else the GUID as text.
std::string UvcPixelFormat(Bytes guid);

}  // namespace probes
