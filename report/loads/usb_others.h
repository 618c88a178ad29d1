// SPDX-License-Identifier: Apache-2.0
//
// What else holds time on USB buses beside captures: audio streams, and slow devices behind a
// high-speed hub, which share its transaction translator.

#pragma once

#include <string>
#include <vector>

#include "report/loads/usb_load.h"

namespace report {

/// The audio streams of a device, each at its largest alternate setting.
std::vector<PeriodicTransfer> AudioTransfers(const probes::UsbDevice& device);

/// Adds to every link what the audio streams at and below it may hold.
void AddOtherPeriodic(std::vector<UsbLink>& links);

/// All full- and low-speed devices that one translator serves: those of a hub,
/// or of one port of a hub with a translator for each (bDeviceProtocol 2).
struct TranslatorLoad {
  const probes::UsbDevice* hub = nullptr;
  int port = 0;                         // 0: all ports of the hub
  double isochronous_us = 0;            // of each frame, all streams at their largest
  double interrupt_us = 0;              // the longest of the others in a frame
  std::vector<std::string> lines = {};  // one for each device
  std::vector<const probes::UsbDevice*> devices = {};

  /// Time that must fit into one frame when all stream at once.
  double WorstUs() const { return isochronous_us + interrupt_us; }
};
std::vector<TranslatorLoad> LoadTranslators(const std::vector<UsbLink>& links);

}  // namespace report
