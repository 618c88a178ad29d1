// SPDX-License-Identifier: Apache-2.0
//
// Reservations as uvcvideo and ehci-hcd make them (drivers/media/usb/uvc/uvc_video.c,
// drivers/usb/host/ehci-sched.c).

#include "report/ehci_booking.h"

#include <algorithm>

#include <fmt/format.h>

#include "report/usb_capacity.h"

namespace report {
namespace {

constexpr int kVideoClass = 0x0e;

// The smallest alternate setting that holds the mode; the largest when none does.
std::int64_t ReservedBytes(const probes::UsbDevice& device, std::int64_t needed) {
  std::int64_t best = 0;
  std::int64_t largest = 0;
  for (const probes::UsbInterface& interface : device.interfaces) {
    if (interface.interface_class != kVideoClass) {
      continue;
    }
    for (const probes::UsbEndpoint& endpoint : interface.endpoints) {
      if (endpoint.type != probes::TransferType::kIsochronous) {
        continue;
      }
      const std::int64_t bytes = endpoint.bytes_per_interval;
      largest = std::max(largest, bytes);
      if (bytes >= needed && (best == 0 || bytes < best)) {
        best = bytes;
      }
    }
  }
  return best != 0 ? best : largest;
}

// 0 for a compressed mode or one that is not listed: the smallest setting then.
std::int64_t NeededBytes(const probes::UsbDevice& device, const profiles::Source& source) {
  for (const probes::CaptureMode& mode : device.modes) {
    if (mode.pixel_format == source.pixel_format && mode.width == source.raster.width &&
        mode.height == source.raster.height) {
      return UvcBytesPerMicroframe(
          {.width = mode.width,
           .height = mode.height,
           .bits_per_pixel = mode.bits_per_pixel,
           .interval_100ns = static_cast<std::int64_t>(1e7 / base::ToDouble(source.rate))});
    }
  }
  return 0;
}

EhciBooking BookBus(const UsbLink& root, const SourceMatch& match) {
  EhciBooking booking{.bus = root.Path(), .microseconds = 0, .lines = {}};
  for (const probes::UsbDevice* device : root.captures) {
    const auto matched =
        std::find_if(match.sources.begin(), match.sources.end(),
                     [&](const MatchedSource& one) { return one.device_path == device->path; });
    if (matched == match.sources.end()) {
      continue;
    }
    const std::int64_t bytes = ReservedBytes(*device, NeededBytes(*device, matched->asked));
    if (bytes > 0) {
      const std::int64_t microseconds = EhciMicroseconds(bytes);
      booking.microseconds += microseconds;
      booking.lines.push_back(fmt::format("{} reserves {} bytes, {} us of each microframe",
                                          DeviceLabel(*device), bytes, microseconds));
    }
  }
  return booking;
}

}  // namespace

std::vector<EhciBooking> BookEhciBuses(const std::vector<UsbLink>& links,
                                       const SourceMatch& match) {
  std::vector<EhciBooking> bookings;
  for (const UsbLink& link : links) {
    const bool ehci = link.controller != nullptr && link.controller->driver.known() &&
                      link.controller->driver->find("ehci") != std::string::npos;
    if (!ehci || !link.RootHub()) {
      continue;
    }
    EhciBooking booking = BookBus(link, match);
    if (booking.microseconds > 0) {
      bookings.push_back(std::move(booking));
    }
  }
  return bookings;
}

}  // namespace report
