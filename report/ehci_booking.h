// SPDX-License-Identifier: Apache-2.0
//
// The time that isochronous captures reserve on a high-speed bus under an EHCI controller.

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "report/source_match.h"
#include "report/usb_load.h"

namespace report {

/// One bus. More than kEhciPeriodicMicroseconds: the last camera is refused.
struct EhciBooking {
  std::string bus;  // path of its root hub
  std::int64_t microseconds = 0;
  std::vector<std::string> lines;  // "NAME reserves N bytes, M us of each microframe"
};

/// EHCI buses on which matched captures reserve time. Other controllers
/// decide by themselves and say so only when a camera starts.
std::vector<EhciBooking> BookEhciBuses(const std::vector<UsbLink>& links, const SourceMatch& match);

}  // namespace report
