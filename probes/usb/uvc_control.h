// SPDX-License-Identifier: Apache-2.0
//
// Terminals and units that a UVC VideoControl interface declares.

#pragma once

#include <string>
#include <vector>

#include "probes/data/usb.h"
#include "probes/usb/descriptor_walk.h"

namespace probes {

/// Collects one function: the class-specific descriptors of its VideoControl interface.
/// Counts that they claim are held to the bytes that are there.
class UvcControlReader {
 public:
  explicit UvcControlReader(int interface_number) {
    function_.control_interface = interface_number;
  }

  /// Empty, or what made no sense in `descriptor`.
  std::string Take(Bytes descriptor);

  /// VideoStreaming interfaces that its header counts as its own.
  const std::vector<int>& streaming_interfaces() const { return streaming_interfaces_; }
  VideoFunction& function() { return function_; }

 private:
  std::string TakeHeader(Bytes descriptor);
  std::string TakeEntity(Bytes descriptor, int subtype);

  VideoFunction function_;
  std::vector<int> streaming_interfaces_;
};

}  // namespace probes
