// SPDX-License-Identifier: Apache-2.0
//
// USB link sums. Sources: Linux 6.12 Documentation/usb/ehci.rst,
// Documentation/driver-api/usb/usb.rst, drivers/usb/host/{ehci-hcd.c,ehci-sched.c,xhci.h},
// include/linux/usb/hcd.h.

#include "report/loads/usb_capacity.h"

#include <algorithm>

namespace report {
namespace {

constexpr double kMicroframesPerSecond = 8000;
constexpr double kFramesPerSecond = 1000;

// A high-speed microframe has 7500 byte times; at most 80 % may be periodic
// (usb.rst). A 1024-byte packet costs 38 byte times more, so five fit.
constexpr double kHighSpeedPeriodicByteTimes = 6000;
constexpr double kHighSpeedPacketBytes = 1024;
constexpr double kHighSpeedPacketOverhead = 38;
constexpr int kHighSpeedPeriodicPackets = static_cast<int>(
    kHighSpeedPeriodicByteTimes / (kHighSpeedPacketBytes + kHighSpeedPacketOverhead));

// At most 13 bulk packets of 512 bytes fit into one microframe (ehci.rst).
constexpr double kHighSpeedBulkBytes = 13 * 512;
// Up to 3 KiB per microframe and endpoint (usb.rst).
constexpr double kHighSpeedEndpointBytes = 3 * 1024;
// 1024 bytes x burst 16 x mult 3 per 125 us (drivers/usb/core/config.c).
constexpr double kSuperSpeedEndpointBytes = 1024 * 16 * 3;
// Above 5 Gb/s: 96 packets of 1024 bytes per 125 us (from memory).
constexpr double kSuperSpeedPlusEndpointBytes = 1024 * 96;
// 1023 bytes per 1 ms frame; 19 bulk packets of 64 bytes.
constexpr double kFullSpeedIsochronousBytes = 1023;
constexpr double kFullSpeedBulkBytes = 19 * 64;

// xhci.h SS_BW_RESERVED: 10 % of a SuperSpeed bus is kept from periodic use.
constexpr double kSuperSpeedPeriodicShare = 0.9;
// Common practice: about 400 of the 500 MB/s of a 5 Gb/s link reach a
// program. The same share is taken for 10 and 20 Gb/s.
constexpr double kSuperSpeedPracticalShare = 0.8;

double Payload8b10b(double bits_per_second) {
  return bits_per_second * 8 / 10 / 8;
}
double Payload128b132b(double bits_per_second) {
  return bits_per_second * 128 / 132 / 8;
}

// Lanes of 5 Gb/s.
bool OldCode(double speed_mbps, int lanes) {
  return speed_mbps == 5000 || (speed_mbps == 10000 && lanes == 2);
}

}  // namespace

const char* LineCode(double speed_mbps, int lanes) {
  return OldCode(speed_mbps, lanes) ? "8b/10b" : "128b/132b";
}

std::optional<double> CodedBytesPerSecond(double speed_mbps, int lanes) {
  if (OldCode(speed_mbps, lanes)) {
    return Payload8b10b(speed_mbps * 1e6);
  }
  if (speed_mbps == 10000 || speed_mbps == 20000) {
    return Payload128b132b(speed_mbps * 1e6);
  }
  return std::nullopt;
}

std::optional<double> LinkBytesPerSecond(double speed_mbps, probes::TransferType transfer,
                                         int lanes) {
  const bool isochronous = transfer == probes::TransferType::kIsochronous;
  if (speed_mbps == 12) {
    return (isochronous ? kFullSpeedIsochronousBytes : kFullSpeedBulkBytes) * kFramesPerSecond;
  }
  if (speed_mbps == 480) {
    return (isochronous ? kHighSpeedPeriodicPackets * kHighSpeedPacketBytes : kHighSpeedBulkBytes) *
           kMicroframesPerSecond;
  }
  const std::optional<double> coded = CodedBytesPerSecond(speed_mbps, lanes);
  if (!coded) {
    return std::nullopt;
  }
  return *coded * std::min(kSuperSpeedPeriodicShare, kSuperSpeedPracticalShare);
}

std::optional<double> StreamBytesPerSecond(double speed_mbps, probes::TransferType transfer,
                                           int lanes) {
  const std::optional<double> link = LinkBytesPerSecond(speed_mbps, transfer, lanes);
  if (!link || transfer != probes::TransferType::kIsochronous || speed_mbps < 480) {
    return link;
  }
  double endpoint = kHighSpeedEndpointBytes;
  if (speed_mbps > 480) {
    endpoint = speed_mbps > 5000 ? kSuperSpeedPlusEndpointBytes : kSuperSpeedEndpointBytes;
  }
  return std::min(*link, endpoint * kMicroframesPerSecond);
}

std::int64_t EhciMicroseconds(std::int64_t bytes) {
  // BitTime: seven bits on the wire for six of data, at worst (hcd.h).
  const std::int64_t bit_time = std::int64_t{7} * 8 * bytes / 6;
  // HS_NSECS_ISO: 38 bytes of overhead, 2083 ps a bit, plus the host's 5 ns.
  const std::int64_t nanoseconds = (std::int64_t{38} * 8 * 2083 + 2083 * (3 + bit_time)) / 1000 + 5;
  return (nanoseconds + 999) / 1000;
}

}  // namespace report
