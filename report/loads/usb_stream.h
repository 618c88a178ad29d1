// SPDX-License-Identifier: Apache-2.0
//
// What each USB capture device streams: mode, alternate setting or bulk, and the time it reserves.

#pragma once

#include <string>
#include <vector>

#include "probes/data/usb.h"
#include "report/data/document.h"
#include "report/loads/source_match.h"
#include "report/loads/usb_time.h"

namespace report {

/// The stream of one capture device. Borrows the inventory's entries.
struct UsbStream {
  CaptureStream shown;
  const probes::UsbDevice* device = nullptr;
  bool counted = false;    // a source of the profile uses it
  std::string assumption;  // what its payload is assumed from; empty: it is a sum
  double setting_bytes_per_second =
      0;                   // of pictures, that its largest alternate setting holds; 0: none
  PeriodicTransfer least;  // what it reserves at least, and at most: equal unless the
  PeriodicTransfer most;   // device decides by itself; 0 bytes for bulk

  bool Isochronous() const { return shown.transfer == probes::TransferType::kIsochronous; }
  /// Time on a link of that speed: its own, or a hub's above it.
  BusTime TimeOn(double link_speed_mbps, UsbScheduler scheduler, int lanes = 1) const;
};

/// One for each capture device, in the order of the inventory. A device that a
/// source uses streams that source's mode; the others the heaviest they offer,
/// which is shown and not counted.
std::vector<UsbStream> StreamsOf(const probes::UsbInventory& usb, const SourceMatch& match);

/// The stream of a device; null where there is none.
const UsbStream* FindStream(const std::vector<UsbStream>& streams, const probes::UsbDevice* device);

/// "55.3 MB/s", "24.9 MB/s (assumed: 1.6 bits a pixel of mjpeg)": what the sources on a device ask
/// of its link.
std::string AskedText(const std::vector<UsbStream>& streams, const probes::UsbDevice& device);

/// The same stream with its device on a link of another speed.
UsbStream AtSpeed(const UsbStream& stream, double speed_mbps);

/// How the pictures of a capture device travel.
probes::TransferType CaptureTransfer(const probes::UsbDevice& device);

/// "1920x1080 yuyv422 at 29.97, alternate setting 4, 16384 bytes in each microframe": one line.
std::string StreamText(const CaptureStream& stream, double speed_mbps);

}  // namespace report
