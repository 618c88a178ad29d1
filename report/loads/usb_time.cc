// SPDX-License-Identifier: Apache-2.0
//
// Bus time as the standard and the Linux schedulers reckon it. Sources: Linux 6.12
// drivers/usb/host/{xhci.h,xhci.c,ehci-sched.c}, drivers/usb/core/hcd.c,
// Documentation/usb/ehci.rst, Documentation/driver-api/usb/usb.rst.

#include "report/loads/usb_time.h"

#include <algorithm>

#include "report/loads/usb_capacity.h"

namespace report {
namespace {

constexpr double kMicroframeUs = 125;
constexpr double kFullSpeedShareUs = 900;  // hcd.h FRAME_TIME_MAX_USECS_ALLOC
constexpr double kSuperSpeedShare = 0.9;   // xhci.h SS_BW_RESERVED

// High speed: 7500 byte times in a microframe (usb.rst), 38 of them lost with each packet.
constexpr double kByteTimesPerUs = 60;
constexpr std::int64_t kPacketOverhead = 38;
// A translator passes at most so much of a full-speed transfer in one microframe
// (ehci-sched.c: hs_transfers = (maxp + 187) / 188).
constexpr std::int64_t kSplitBytes = 188;

// xhci.h. A whole high-speed microframe is 1607 blocks, a SuperSpeed one 3906.
constexpr std::int64_t kHighSpeedBlockBytes = 4;
constexpr std::int64_t kHighSpeedOverhead = 26;
constexpr std::int64_t kHighSpeedBlocks = 1607;
constexpr std::int64_t kTranslatorBlocks = 31 + 94;
constexpr std::int64_t kSuperSpeedBlockBytes = 16;
constexpr std::int64_t kSuperSpeedOverhead = 8;
constexpr std::int64_t kSuperSpeedBurstOverhead = 32;
constexpr std::int64_t kSuperSpeedBlocks = 3906;

constexpr std::int64_t kUsualPacketBytes = 1024;
constexpr int kLongestExponent = 16;  // bInterval counts to 16

std::int64_t PacketBytes(std::int64_t packet_bytes) {
  return packet_bytes > 0 ? packet_bytes : kUsualPacketBytes;
}

std::int64_t RoundedUp(std::int64_t amount, std::int64_t unit) {
  return (amount + unit - 1) / unit;
}

double BlocksUs(std::int64_t blocks, std::int64_t whole) {
  return static_cast<double>(blocks) * kMicroframeUs / static_cast<double>(whole);
}

BusTime HighSpeedTime(const PeriodicTransfer& transfer, UsbScheduler scheduler) {
  if (scheduler == UsbScheduler::kEhci) {
    const auto booked = static_cast<double>(EhciMicroseconds(transfer.bytes));
    return {booked, booked};
  }
  const std::int64_t packets = RoundedUp(transfer.bytes, PacketBytes(transfer.packet_bytes));
  return {static_cast<double>(transfer.bytes + kPacketOverhead * packets) / kByteTimesPerUs,
          BlocksUs(XhciHighSpeedBlocks(transfer.bytes, transfer.packet_bytes), kHighSpeedBlocks)};
}

// A full-speed transfer as its translator brings it onto the high-speed bus.
BusTime SplitTime(const PeriodicTransfer& transfer, UsbScheduler scheduler) {
  const std::int64_t part = std::min(transfer.bytes, kSplitBytes);
  if (scheduler == UsbScheduler::kEhci) {
    const auto booked = static_cast<double>(EhciMicroseconds(part));
    return {booked, booked};
  }
  return {static_cast<double>(part + kPacketOverhead) / kByteTimesPerUs,
          BlocksUs(kTranslatorBlocks, kHighSpeedBlocks)};
}

BusTime SuperSpeedTime(const PeriodicTransfer& transfer, double coded_bytes_per_second) {
  const double bytes_per_us = coded_bytes_per_second / 1e6;
  // The kernel's blocks are those of 5 Gb/s; faster links take less time for them.
  const double faster = coded_bytes_per_second / *CodedBytesPerSecond(5000);
  return {static_cast<double>(transfer.bytes) / bytes_per_us,
          BlocksUs(XhciSuperSpeedBlocks(transfer.bytes, transfer.packet_bytes), kSuperSpeedBlocks) /
              faster};
}

}  // namespace

const char* FrameWord(double link_speed_mbps) {
  return link_speed_mbps < 480 ? "frame" : "microframe";
}

double FrameUs(double link_speed_mbps) {
  return 1e6 / FramesPerSecond(link_speed_mbps);
}

double FramesPerSecond(double link_speed_mbps) {
  return link_speed_mbps < 480 ? 1000 : 8000;
}

std::optional<double> ReservableUs(double link_speed_mbps) {
  if (link_speed_mbps == 480) {
    return static_cast<double>(kEhciPeriodicMicroseconds);
  }
  if (link_speed_mbps == 12 || link_speed_mbps == 1.5) {
    return kFullSpeedShareUs;
  }
  if (CodedBytesPerSecond(link_speed_mbps)) {
    return kMicroframeUs * kSuperSpeedShare;
  }
  return std::nullopt;
}

BusTime TimeOnLink(const PeriodicTransfer& transfer, double link_speed_mbps, UsbScheduler scheduler,
                   int lanes) {
  if (transfer.bytes <= 0) {
    return {};
  }
  if (const auto coded = CodedBytesPerSecond(link_speed_mbps, lanes)) {
    return SuperSpeedTime(transfer, *coded);
  }
  if (link_speed_mbps == 480) {
    return transfer.speed_mbps < 480 ? SplitTime(transfer, scheduler)
                                     : HighSpeedTime(transfer, scheduler);
  }
  const double us =
      static_cast<double>(SlowBusNanoseconds(link_speed_mbps, true, true, transfer.bytes)) / 1e3;
  return {us, us};
}

std::int64_t XhciHighSpeedBlocks(std::int64_t bytes, std::int64_t packet_bytes) {
  const std::int64_t packet = PacketBytes(packet_bytes);
  return RoundedUp(bytes, packet) *
         (RoundedUp(std::min(bytes, packet), kHighSpeedBlockBytes) + kHighSpeedOverhead);
}

std::int64_t XhciSuperSpeedBlocks(std::int64_t bytes, std::int64_t packet_bytes) {
  const std::int64_t packet = PacketBytes(packet_bytes);
  return kSuperSpeedBurstOverhead +
         RoundedUp(bytes, packet) *
             (RoundedUp(std::min(bytes, packet), kSuperSpeedBlockBytes) + kSuperSpeedOverhead);
}

std::int64_t SlowBusNanoseconds(double speed_mbps, bool to_pc, bool isochronous,
                                std::int64_t bytes) {
  constexpr std::int64_t kHostDelay = 1000;
  constexpr std::int64_t kHubSetup = 333;
  const std::int64_t bits =
      31 + 10 * (std::int64_t{7} * 8 * bytes / 6);  // bit stuffing at its worst
  if (speed_mbps == 12) {
    const std::int64_t fixed = isochronous ? (to_pc ? 7268 : 6265) : 9107;
    return fixed + kHostDelay + 8354 * bits / 1000;
  }
  if (speed_mbps == 1.5) {
    const std::int64_t fixed = to_pc ? 64060 : 64107;
    return fixed + 2 * kHubSetup + kHostDelay + (to_pc ? 67667 : 66700) * bits / 1000;
  }
  return 0;
}

std::int64_t IntervalPeriod(const probes::UsbEndpoint& endpoint, double speed_mbps) {
  const bool slow_interrupt = speed_mbps < 480 && endpoint.type == probes::TransferType::kInterrupt;
  if (slow_interrupt) {
    return std::clamp(endpoint.interval, 1, 255);
  }
  return std::int64_t{1} << (std::clamp(endpoint.interval, 1, kLongestExponent) - 1);
}

double IntervalsPerSecond(const probes::UsbEndpoint& endpoint, double speed_mbps) {
  return FramesPerSecond(speed_mbps) / static_cast<double>(IntervalPeriod(endpoint, speed_mbps));
}

}  // namespace report
