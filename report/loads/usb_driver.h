// SPDX-License-Identifier: Apache-2.0
//
// Whether a capture device has a driver that hands its pictures on.

#pragma once

#include <string>

#include "probes/data/usb.h"

namespace report {

/// Why no program gets pictures of a capture device: "no driver has taken its video interface",
/// "its driver uvcvideo has made no video node of it"; empty where it does, or that was not read.
std::string WhyNoPictures(const probes::UsbInventory& usb, const probes::UsbDevice& device);

/// A driver that has taken a video interface of another device, so that it is there; or empty.
std::string VideoDriverElsewhere(const probes::UsbInventory& usb, const probes::UsbDevice& device);

}  // namespace report
