// SPDX-License-Identifier: Apache-2.0
//
// The load that the profile's captures put on every USB link of a machine.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "probes/data/usb.h"
#include "report/loads/usb_stream.h"

namespace report {

/// The upstream side of one device or hub, or a whole controller. Borrows the
/// inventory's entries: it lives no longer than they do.
struct UsbLink {
  const probes::UsbController* controller = nullptr;  // null: bus without a known controller
  const probes::UsbDevice* device = nullptr;          // null: the controller itself
  int depth = 0;                                      // 0 = controller
  double bytes_per_second = 0;                        // of the matched captures at and below
  double isochronous_bytes_per_second = 0;            // of these, by isochronous transfers
  double assumed_bytes_per_second = 0;                // of these, assumed: compressed pictures
  double assumed_isochronous_bytes_per_second = 0;    // and both
  std::optional<double> capacity_bytes_per_second;    // usable for them; nothing: not known
  std::optional<double> certain_percent;              // of it, in use without what is assumed
  bool lower_bound = false;                           // a capacity that is at least this
  bool isochronous = false;                           // some capture below reserves bandwidth
  std::vector<const probes::UsbDevice*> captures;     // at and below
  // Time held on this link by the matched captures at and below; none on a
  // controller, and on a root hub only where all ports share one bus (EHCI).
  BusTime reserved;
  double others_us = 0;                 // that audio streams may hold beside them at most
  std::optional<double> reservable_us;  // nothing: time is not divided here, or not known

  /// More is asked than there is, by an assumption alone.
  bool OverByAssumption() const {
    return assumed_bytes_per_second > 0 && capacity_bytes_per_second &&
           bytes_per_second > *capacity_bytes_per_second && certain_percent.value_or(0) <= 100;
  }
  /// Captures may ask for more time than there is; they do not for certain.
  bool MayRefuse() const {
    return reservable_us && reserved.least_us <= *reservable_us &&
           reserved.most_us > *reservable_us;
  }
  std::string Path() const;
  bool RootHub() const { return device != nullptr && device->parent.empty(); }
  UsbScheduler Scheduler() const;
};

/// Depth first: each controller, its root hubs, what hangs below them.
std::vector<UsbLink> LoadUsbLinks(const probes::UsbInventory& usb,
                                  const std::vector<UsbStream>& streams);

/// Share in use, percent: of the bytes that the link carries, or of the time
/// that may be reserved where that is more than all of it (less than all of it
/// harms nobody; 100 where only the most, or what is assumed, is more than all,
/// so that the last stream may be refused); nothing where no capacity is known.
std::optional<double> UsedPercent(const UsbLink& link);

/// "Vendor Product"; "Product" where that begins with its vendor; the ids where a device gives no
/// name. As it was read: not yet safe to show.
std::string DeviceName(const probes::UsbDevice& device);
/// "Product (2-1.4)", safe to show.
std::string DeviceLabel(const probes::UsbDevice& device);
/// "USB hub NAME (2-1)", "USB controller 0000:00:14.0": the link as rows and findings name it.
std::string LinkLabel(const UsbLink& link);

/// Microseconds that a stream holds on its own link, whether it is counted or not.
double ReservedUs(const std::vector<UsbLink>& links, const UsbStream& stream);

/// "5 Gb/s on the wire, 500 MB/s after 8b/10b, 400 MB/s usable; 90 % of each microframe may be
/// reserved": how the capacity of a link comes about.
std::string LinkFigures(const UsbLink& link);

const UsbLink* FindLink(const std::vector<UsbLink>& links, const std::string& path);
/// The controller of a device path, or null.
const UsbLink* ControllerOf(const std::vector<UsbLink>& links, const std::string& device_path);
/// The links from a device's own up to its root hub's.
std::vector<const UsbLink*> LinksUp(const std::vector<UsbLink>& links, std::string path);

/// Null where there is none.
const probes::UsbDevice* FindDevice(const probes::UsbInventory& usb, const std::string& path);
const probes::UsbController* FindController(const probes::UsbInventory& usb, int bus);

/// EHCI and the older controllers: all ports of the root hub share one bus.
bool OneBus(const probes::UsbController& controller);
/// Lanes of a device's link; 1 where that is not known.
int LanesOf(const probes::UsbDevice& device);
/// Bytes/s that a controller carries at least: what its fastest port may, for
/// captures of that transfer type; nothing for unknown speeds.
std::optional<double> ControllerBytesPerSecond(const probes::UsbInventory& usb,
                                               const probes::UsbController& controller,
                                               probes::TransferType transfer);
/// Bytes/s of pictures that a capture's own link and its alternate settings hold.
std::optional<double> OwnLinkBytesPerSecond(const UsbStream& stream, double speed_mbps,
                                            int lanes = 1);

}  // namespace report
