// SPDX-License-Identifier: Apache-2.0
//
// What a USB link can carry for capture devices: line code, periodic share, per-endpoint ceilings.

#pragma once

#include <cstdint>
#include <optional>

#include "probes/data/usb.h"

namespace report {

/// Bytes/s of a SuperSpeed link after its line code: 8b/10b at 5 Gb/s, and at
/// 10 Gb/s over two lanes of 5; 128b/132b at 10 Gb/s on one lane and at 20;
/// nothing for slower or unknown speeds.
std::optional<double> CodedBytesPerSecond(double speed_mbps, int lanes = 1);
/// "8b/10b", "128b/132b": the line code of such a link.
const char* LineCode(double speed_mbps, int lanes = 1);

/// Bytes/s of payload that all captures on one link may share, by the
/// negotiated speed (12, 480, 5000, 10000, 20000 Mb/s) and the transfer type
/// of the captures; nothing for an unknown speed.
std::optional<double> LinkBytesPerSecond(double speed_mbps, probes::TransferType transfer,
                                         int lanes = 1);

/// Bytes/s that one stream of one device reaches at most on its own link: a
/// single isochronous endpoint, or the bulk rate of the link.
std::optional<double> StreamBytesPerSecond(double speed_mbps, probes::TransferType transfer,
                                           int lanes = 1);

/// Microseconds that an EHCI controller books per microframe for a
/// high-speed isochronous interval of `bytes` (drivers/usb/host/ehci-sched.c,
/// include/linux/usb/hcd.h: worst-case bit stuffing, one overhead).
std::int64_t EhciMicroseconds(std::int64_t bytes);

/// An EHCI bus books at most this much of each 125 us microframe
/// (ehci-hcd.c uframe_periodic_max).
inline constexpr std::int64_t kEhciPeriodicMicroseconds = 100;

}  // namespace report
