// SPDX-License-Identifier: Apache-2.0
//
// PCIe trees for tests of the assessment.

#pragma once

#include <string>

#include "report/data/document.h"

namespace report::testing {

/// A function with a link; a width of 0 leaves the link unknown.
inline probes::PciDevice PciFunction(const std::string& address, int class_code,
                                     const std::string& parent, double gts, int width) {
  probes::PciDevice function;
  function.address = address;
  function.class_code = class_code;
  function.name = "Invented function " + address;
  function.parent = parent;
  if (width > 0) {
    function.link.speed_gts = function.link.best_speed_gts = gts;
    function.link.width = function.link.best_width = width;
  }
  return function;
}

inline constexpr int kBridge = 0x060400;
inline constexpr int kCaptureClass = 0x040000;
inline constexpr int kNvme = 0x010802;
inline constexpr int kUsbController = 0x0c0330;

/// Root port - switch (up, two down) - capture card and recording disk: both share the link
/// between root port and switch, of `gts` and `width`.
inline void PutBehindOneSwitch(Evidence& evidence, double gts, int width) {
  auto& functions = evidence.inventory.pci.functions;
  evidence.inventory.pci.present = true;
  functions = {PciFunction("0000:00:1c.0", kBridge, "", gts, width),
               PciFunction("0000:11:00.0", kBridge, "0000:00:1c.0", gts, width),
               PciFunction("0000:12:00.0", kBridge, "0000:11:00.0", 8, 4),
               PciFunction("0000:12:01.0", kBridge, "0000:11:00.0", 8, 4),
               PciFunction("0000:13:00.0", kCaptureClass, "0000:12:00.0", 8, 4),
               PciFunction("0000:14:00.0", kNvme, "0000:12:01.0", 8, 4)};
  evidence.inventory.gpu.capture_cards = {functions[4]};
  for (probes::BlockLayer& layer : evidence.inventory.storage[0].layers) {
    layer.pci_address = "0000:14:00.0";
  }
}

/// The last source of the profile arrives by PCIe with this payload.
inline void AddCardSource(Evidence& evidence, double bytes_per_second) {
  profiles::Source source;
  source.name = "SDI";
  source.arrives_by = profiles::ArrivesBy::kPcie;
  source.raster = {1920, 1080};
  source.rate = 60;
  evidence.profile.sources.push_back(source);
  profiles::SourceDemand demand;
  demand.name = source.name;
  demand.bytes_per_second = bytes_per_second;
  evidence.demand.sources.push_back(demand);
}

}  // namespace report::testing
