// SPDX-License-Identifier: Apache-2.0
//
// The buses whose time isochronous captures divide among them, and whether it is enough.

#pragma once

#include <string>
#include <vector>

#include "report/loads/usb_load.h"

namespace report {

/// One bus: a whole EHCI controller, or what hangs on one root port of another.
struct BusBooking {
  const UsbLink* link = nullptr;  // the root hub, or the device on the root port

  double reservable_us() const { return link->reservable_us.value_or(0); }
  /// The last camera is refused for certain.
  bool Refuses() const { return link->reserved.least_us > reservable_us(); }
  /// All of them are granted for certain, whatever audio streams beside them.
  bool Grants() const { return MostUs() <= reservable_us(); }
  double MostUs() const { return link->reserved.most_us + link->others_us; }
  /// "USB bus usb1", "USB port usb2-port3".
  std::string Name() const;
  /// "microframe", or "frame" below 480 Mb/s.
  const char* Frame() const { return FrameWord(link->device->speed_mbps); }
  /// A bus that the driver of an EHCI controller books by itself.
  bool Ehci() const {
    return link->Scheduler() == UsbScheduler::kEhci && link->device->speed_mbps == 480;
  }
};

/// Buses on which matched captures reserve time; the links' order.
std::vector<BusBooking> BookBuses(const std::vector<UsbLink>& links);

/// The captures of the bus that reserve time on it.
std::vector<const probes::UsbDevice*> BookedCaptures(const BusBooking& booking,
                                                     const std::vector<UsbStream>& streams);

/// "NAME reserves up to 3072 bytes, 61 us of each microframe": a line for each capture of the bus
/// that reserves some, and one for audio beside them.
std::vector<std::string> BookingLines(const BusBooking& booking,
                                      const std::vector<UsbStream>& streams);

/// The system's name of a port: "usb2-port3", "2-1-port2" (drivers/usb/core/port.c).
std::string PortName(const std::string& hub_path, int port);

}  // namespace report
