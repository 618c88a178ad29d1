// SPDX-License-Identifier: Apache-2.0
//
// Which USB capture device of the machine carries which source of the profile.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "probes/data/usb.h"
#include "profiles/demand/demand.h"
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

  /// Its payload is an assumption: the device compresses.
  bool Assumed() const;
};

struct SourceMatch {
  std::vector<MatchedSource> sources;  // profile order

  std::vector<const MatchedSource*> Missing() const;
  /// The source of that name; null where it does not arrive by USB.
  const MatchedSource* Of(const std::string& source) const;
};

/// Sources that name a device go first (text found in its path, or in its
/// vendor and product name, in any case), then the rest in order, to devices
/// that offer their mode before others.
SourceMatch MatchUsbSources(const profiles::Profile& profile, const profiles::Demand& demand,
                            const probes::UsbInventory& usb);

/// The slowest rate of a mode that is as fast as asked (half of what parts 59.94 from 60 is
/// allowed, and then it is as asked); nothing when none is.
std::optional<double> RateOffered(const probes::CaptureMode& mode, double asked);
/// Modes that a device offers: by its driver where that was asked, else by its descriptors.
const std::vector<probes::CaptureMode>& OfferedModes(const probes::UsbDevice& device);
/// Whether a device offers a mode of this raster, format and at least this rate.
bool OffersMode(const probes::UsbDevice& device, const profiles::Source& source);

/// Whether `part` stands in `text`, in any case.
bool ContainsInAnyCase(const std::string& text, const std::string& part);

}  // namespace report
