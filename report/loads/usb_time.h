// SPDX-License-Identifier: Apache-2.0
//
// Bus time that periodic USB transfers hold of each frame or microframe, and how much may be held.

#pragma once

#include <cstdint>
#include <optional>

#include "probes/data/usb.h"

namespace report {

/// Who divides the time of a bus: each reckons in its own way.
enum class UsbScheduler {
  kEhci,  // the driver books one bus for all ports (drivers/usb/host/ehci-sched.c); OHCI, UHCI too
  kXhci   // the controller decides by itself; each root port has a bus of its own
};

/// Time between two sure bounds, in microseconds of a microframe (125 us), or
/// of a frame (1000 us) below 480 Mb/s. More than what may be held at `least`
/// is refused, not more at `most` is granted; between them the controller
/// decides when the stream starts.
struct BusTime {
  double least_us = 0;
  double most_us = 0;

  BusTime& operator+=(const BusTime& other) {
    least_us += other.least_us;
    most_us += other.most_us;
    return *this;
  }
};

/// An isochronous transfer: `bytes` in each interval, in packets of `packet_bytes`.
struct PeriodicTransfer {
  double speed_mbps = 0;  // of the device
  std::int64_t bytes = 0;
  std::int64_t packet_bytes = 0;  // 0: 1024
  std::int64_t period = 1;        // microframes (frames) from one interval to the next
};

/// How a bus of that speed divides its time: "microframe", or "frame" below 480 Mb/s; one of them
/// in microseconds; how many there are in a second.
const char* FrameWord(double link_speed_mbps);
double FrameUs(double link_speed_mbps);
double FramesPerSecond(double link_speed_mbps);

/// Most that periodic transfers may hold, microseconds: 80 % of a microframe
/// at high speed, 90 % of one at SuperSpeed, 90 % of a frame below; nothing
/// for an unknown speed.
std::optional<double> ReservableUs(double link_speed_mbps);

/// What one interval of a transfer holds on a link of `link_speed_mbps`, which is the device's
/// own or a hub's above it; `lanes` of that link.
BusTime TimeOnLink(const PeriodicTransfer& transfer, double link_speed_mbps, UsbScheduler scheduler,
                   int lanes = 1);

/// Blocks that the kernel's software check of xHCI reckons for a high-speed
/// interval (4 bytes each, 1285 may be held) and for a SuperSpeed one (16 bytes
/// each, 3515 may be held); drivers/usb/host/xhci.h and xhci.c.
std::int64_t XhciHighSpeedBlocks(std::int64_t bytes, std::int64_t packet_bytes);
std::int64_t XhciSuperSpeedBlocks(std::int64_t bytes, std::int64_t packet_bytes);

/// Nanoseconds of one full-speed (12) or low-speed (1.5) transaction
/// (drivers/usb/core/hcd.c usb_calc_bus_time; USB 2.0, 5.11.3); 0 for other speeds.
std::int64_t SlowBusNanoseconds(double speed_mbps, bool to_pc, bool isochronous,
                                std::int64_t bytes);

/// Microframes, or frames below 480 Mb/s, between two intervals of a periodic
/// endpoint: 2^(bInterval-1), and bInterval frames for slow interrupts.
std::int64_t IntervalPeriod(const probes::UsbEndpoint& endpoint, double speed_mbps);

/// Intervals in a second of an isochronous endpoint.
double IntervalsPerSecond(const probes::UsbEndpoint& endpoint, double speed_mbps);

}  // namespace report
