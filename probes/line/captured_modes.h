// SPDX-License-Identifier: Apache-2.0
//
// What the drivers of a captured machine's capture devices offered, written when it was captured.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/reading.h"
#include "probes/data/usb.h"

namespace probes {

/// Where it stands in a captured machine. No kernel shows such a file: only drivers that run can be
/// asked for it.
inline constexpr const char* kCapturedModesFile = "/captured/video-modes";

/// Of every device that has been asked, by its USB path: a line "PATH WIDTH HEIGHT STEP INTERVALS
/// FORMAT" for each mode, intervals as "333333,400000" of 100 ns; or "PATH unknown REASON".
std::string CapturedModesText(const UsbInventory& usb);

/// The modes of the device at `path` in such a text. Any text at all is taken: lines that are none
/// are passed over; unknown where the device is not in it.
base::Reading<std::vector<CaptureMode>> FindCapturedModes(std::string_view text,
                                                          std::string_view path);

/// Fills in `driver_modes` of every capture device that has nodes.
void AddCapturedModes(std::string_view text, UsbInventory& usb);

}  // namespace probes
