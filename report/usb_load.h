// SPDX-License-Identifier: Apache-2.0
//
// The load that the profile's captures put on every USB link of a machine.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "probes/data/usb.h"
#include "report/source_match.h"

namespace report {

/// The upstream side of one device or hub, or a whole controller. Borrows the
/// inventory's entries: it lives no longer than they do.
struct UsbLink {
  const probes::UsbController* controller = nullptr;  // null: bus without a known controller
  const probes::UsbDevice* device = nullptr;          // null: the controller itself
  int depth = 0;                                      // 0 = controller
  double bytes_per_second = 0;                        // of the matched captures at and below
  std::optional<double> capacity_bytes_per_second;    // usable for them; nothing: not known
  bool lower_bound = false;                           // a capacity that is at least this
  bool isochronous = false;                           // some capture below reserves bandwidth
  std::vector<const probes::UsbDevice*> captures;     // at and below

  std::string Path() const;
  bool RootHub() const { return device != nullptr && device->parent.empty(); }
};

/// Depth first: each controller, its root hubs, what hangs below them.
std::vector<UsbLink> LoadUsbLinks(const probes::UsbInventory& usb, const SourceMatch& match);

/// "Vendor Product (2-1.4)", safe to show.
std::string DeviceLabel(const probes::UsbDevice& device);

const UsbLink* FindLink(const std::vector<UsbLink>& links, const std::string& path);
/// The controller of a device path, or null.
const UsbLink* ControllerOf(const std::vector<UsbLink>& links, const std::string& device_path);
/// Whether `path` hangs at or below `ancestor`.
bool AtOrBelow(const std::vector<UsbLink>& links, std::string path, const std::string& ancestor);
/// How the pictures of a capture device travel.
probes::TransferType CaptureTransfer(const probes::UsbDevice& device);

}  // namespace report
