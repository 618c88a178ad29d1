// SPDX-License-Identifier: Apache-2.0
//
// Reservations gathered by bus (drivers/usb/host/xhci.h: every root port has the bandwidth of a
// whole bus; ehci-sched.c: one bus for all ports).

#include "report/loads/usb_booking.h"

#include <fmt/format.h>

#include "base/text.h"

namespace report {

std::string PortName(const std::string& hub_path, int port) {
  return fmt::format("{}-port{}", base::Printable(hub_path, 40), port);
}

std::string BusBooking::Name() const {
  if (link->RootHub()) {
    return "USB bus " + base::Printable(link->Path(), 20);
  }
  return "USB port " + PortName(link->device->parent, link->device->port);
}

std::vector<BusBooking> BookBuses(const std::vector<UsbLink>& links) {
  std::vector<BusBooking> bookings;
  for (const UsbLink& link : links) {
    if (link.device == nullptr || !link.reservable_us || link.reserved.most_us <= 0) {
      continue;
    }
    const UsbLink* above = FindLink(links, link.device->parent);
    const bool on_root = above == nullptr || (above->RootHub() && !above->reservable_us);
    if (on_root) {
      bookings.push_back({&link});
    }
  }
  return bookings;
}

std::vector<const probes::UsbDevice*> BookedCaptures(const BusBooking& booking,
                                                     const std::vector<UsbStream>& streams) {
  std::vector<const probes::UsbDevice*> booked;
  for (const probes::UsbDevice* capture : booking.link->captures) {
    const UsbStream* stream = FindStream(streams, capture);
    if (stream != nullptr && stream->counted && stream->most.bytes > 0) {
      booked.push_back(capture);
    }
  }
  return booked;
}

std::vector<std::string> BookingLines(const BusBooking& booking,
                                      const std::vector<UsbStream>& streams) {
  std::vector<std::string> lines;
  for (const probes::UsbDevice* capture : BookedCaptures(booking, streams)) {
    const UsbStream* stream = FindStream(streams, capture);
    const BusTime time = stream->TimeOn(booking.link->device->speed_mbps, booking.link->Scheduler(),
                                        LanesOf(*booking.link->device));
    lines.push_back(fmt::format("{} reserves {}{} bytes, {:.3g} us of each {}",
                                DeviceLabel(*capture), stream->shown.assumed ? "up to " : "",
                                stream->most.bytes, time.most_us, booking.Frame()));
  }
  if (booking.link->others_us > 0) {
    lines.push_back(
        fmt::format("audio beside them may reserve {:.3g} us", booking.link->others_us));
  }
  return lines;
}

}  // namespace report
