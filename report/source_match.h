// SPDX-License-Identifier: Apache-2.0
//
// Which USB capture device of the machine carries which source of the profile.

#pragma once

#include <string>
#include <vector>

#include "probes/data/usb.h"
#include "profiles/demand.h"
#include "profiles/profile.h"

namespace report {

/// One USB source of the profile and the device found for it.
struct MatchedSource {
  std::string source;
  std::string wanted;        // "1920x1080 yuyv422 at 59.94"
  std::string device_path;   // empty: no device found
  bool mode_offered = true;  // false: the device lists modes and none fits
  double bytes_per_second = 0;
  profiles::Source asked;
};

struct SourceMatch {
  std::vector<MatchedSource> sources;     // profile order
  std::vector<std::string> idle_devices;  // capture devices that no source uses: paths

  /// Payload of the sources on one device.
  double BytesPerSecond(const std::string& device_path) const;
  std::vector<const MatchedSource*> Missing() const;
};

/// Sources that name a device go first (text found in its path, or in its
/// vendor and product name, in any case), then the rest in order, to devices
/// that offer their mode before others.
SourceMatch MatchUsbSources(const profiles::Profile& profile, const profiles::Demand& demand,
                            const probes::UsbInventory& usb);

/// Whether a device lists a mode of this raster, format and at least this rate.
bool OffersMode(const probes::UsbDevice& device, const profiles::Source& source);

}  // namespace report
