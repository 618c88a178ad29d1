// SPDX-License-Identifier: Apache-2.0
//
// Bus time against the figures of the Linux schedulers and of the standard that they cite.

#include "report/loads/usb_time.h"

#include <gtest/gtest.h>

#include "report/loads/usb_capacity.h"

namespace report {
namespace {

PeriodicTransfer HighSpeed(std::int64_t bytes) {
  return {480, bytes, 1024, 1};
}
PeriodicTransfer SuperSpeed(std::int64_t packets) {
  return {5000, packets * 1024, 1024, 1};
}

// Linux Documentation/driver-api/usb/usb.rst: 80 % of a high-speed bus for periodic transfers, 90 %
// of a full- and low-speed one; include/linux/usb/hcd.h FRAME_TIME_MAX_USECS_ALLOC = 900 us;
// drivers/usb/host/xhci.h SS_BW_RESERVED 10.
TEST(ReservableUs, IsTheShareForPeriodicTransfers) {
  EXPECT_DOUBLE_EQ(*ReservableUs(480), 0.8 * 125);
  EXPECT_DOUBLE_EQ(*ReservableUs(12), 0.9 * 1000);
  EXPECT_DOUBLE_EQ(*ReservableUs(1.5), 0.9 * 1000);
  EXPECT_DOUBLE_EQ(*ReservableUs(5000), 0.9 * 125);
  EXPECT_DOUBLE_EQ(*ReservableUs(20000), 0.9 * 125);
  EXPECT_FALSE(ReservableUs(0));
}

// usb.rst: a microframe has 7500 byte times, 6000 of them periodic; 38 bytes are lost with each
// packet (hcd.h HS_NSECS_ISO). 3 x (1024 + 38) = 3186 of 6000: one such camera fits, two do not.
TEST(TimeOnLink, HighSpeedByTheStandard) {
  const BusTime one = TimeOnLink(HighSpeed(3072), 480, UsbScheduler::kXhci);
  EXPECT_DOUBLE_EQ(one.least_us, 3186.0 / 60);
  EXPECT_LT(one.least_us, *ReservableUs(480));
  EXPECT_GT(2 * one.least_us, *ReservableUs(480));
}

// drivers/usb/host/ehci-sched.c, evaluated by hand in the table of usb_capacity_test.cc.
TEST(TimeOnLink, EhciBooksItsOwnMicroseconds) {
  const BusTime one = TimeOnLink(HighSpeed(3072), 480, UsbScheduler::kEhci);
  EXPECT_DOUBLE_EQ(one.least_us, 61);
  EXPECT_DOUBLE_EQ(one.most_us, 61);
}

// drivers/usb/host/xhci.h: HS_BLOCK 4, HS_OVERHEAD 26, HS_BW_LIMIT 1607, HS_BW_RESERVED 20 %:
// 1607 - 322 = 1285 blocks. One packet of 1024 is 256 + 26 = 282: four fit, five do not.
TEST(XhciSoftwareCheck, HighSpeedBlocks) {
  EXPECT_EQ(XhciHighSpeedBlocks(1024, 1024), 282);
  EXPECT_EQ(XhciHighSpeedBlocks(3072, 1024), 846);
  EXPECT_EQ(XhciHighSpeedBlocks(1600, 800), 2 * (200 + 26));
  const double four = 4 * TimeOnLink(HighSpeed(1024), 480, UsbScheduler::kXhci).most_us;
  EXPECT_LE(four, *ReservableUs(480));
  EXPECT_GT(four / 4 * 5, *ReservableUs(480));
  // Exactly at the limit of 1285 blocks, and one beyond.
  EXPECT_LE(1285 * 125.0 / 1607, *ReservableUs(480));
  EXPECT_GT(1286 * 125.0 / 1607, *ReservableUs(480));
}

// xhci.h and xhci.c xhci_get_ss_bw_consumed: SS_BLOCK 16, SS_OVERHEAD 8, SS_OVERHEAD_BURST 32,
// SS_BW_LIMIT_IN 3906 less 10 % = 3515 blocks. A burst of 16: 32 + 16 x 72 = 1184; the most that
// one endpoint may have, 16 x 3: 3488, still fits, alone.
TEST(XhciSoftwareCheck, SuperSpeedBlocks) {
  EXPECT_EQ(XhciSuperSpeedBlocks(16 * 1024, 1024), 1184);
  EXPECT_EQ(XhciSuperSpeedBlocks(48 * 1024, 1024), 3488);
  const BusTime most = TimeOnLink(SuperSpeed(48), 5000, UsbScheduler::kXhci);
  EXPECT_LE(most.most_us, *ReservableUs(5000));
  const BusTime third = TimeOnLink(SuperSpeed(16), 5000, UsbScheduler::kXhci);
  EXPECT_GT(most.most_us + third.most_us, *ReservableUs(5000));
  // 3906 blocks of 16 bytes every 125 us are 499.97 MB/s: the whole 500 MB/s after 8b/10b.
  EXPECT_NEAR(3906.0 * 16 * 8000, *CodedBytesPerSecond(5000), 0.1e6);
}

// 2 x 32768 bytes at 500 MB/s are 131 us: more than the 112.5 us whatever a scheduler reckons.
TEST(TimeOnLink, TwoHalfFilledSuperSpeedStreamsDoNotFit) {
  EXPECT_NEAR(2 * TimeOnLink(SuperSpeed(32), 5000, UsbScheduler::kXhci).least_us, 131.07, 0.01);
}

// Line codes of the encyclopedia pages: 10 Gb/s over two lanes of 5 still is 8b/10b, 1000 MB/s.
TEST(TimeOnLink, FasterLinksTakeLessTime) {
  EXPECT_DOUBLE_EQ(*CodedBytesPerSecond(10000, 2), 1000e6);
  EXPECT_NEAR(*CodedBytesPerSecond(10000, 1), 1212.12e6, 0.01e6);
  EXPECT_DOUBLE_EQ(TimeOnLink(SuperSpeed(16), 10000, UsbScheduler::kXhci, 2).least_us,
                   16384.0 / 1000);
}

// drivers/usb/core/hcd.c usb_calc_bus_time: 806166 ns for 1023 bytes to the PC, evaluated by hand.
// So one of them fills a full-speed bus or a translator (900 us).
TEST(SlowBusNanoseconds, FullSpeedIsochronous) {
  EXPECT_EQ(SlowBusNanoseconds(12, true, true, 1023), 806166);
  EXPECT_EQ(SlowBusNanoseconds(12, false, true, 1023), 806166 - 7268 + 6265);
  EXPECT_GT(2 * 806166, 900'000);
  EXPECT_EQ(SlowBusNanoseconds(480, true, true, 100), 0);
}

// The same function for interrupts of 8 bytes: BitTime 74; full speed 9107 + 1000 + 8354 x 771 /
// 1000, low speed 64060 + 666 + 1000 + 67667 x 771 / 1000.
TEST(SlowBusNanoseconds, Interrupts) {
  EXPECT_EQ(SlowBusNanoseconds(12, true, false, 8), 16547);
  EXPECT_EQ(SlowBusNanoseconds(1.5, true, false, 8), 117897);
}

// ehci-sched.c hs_transfers = (maxp + 187) / 188: at most 188 bytes of a full-speed transfer cross
// the high-speed bus in a microframe. xhci.h TT_HS_OVERHEAD 31 + 94 blocks.
TEST(TimeOnLink, AFullSpeedStreamBehindATranslator) {
  const PeriodicTransfer slow{12, 1023, 1023, 1};
  EXPECT_DOUBLE_EQ(TimeOnLink(slow, 12, UsbScheduler::kXhci).most_us, 806.166);
  EXPECT_DOUBLE_EQ(TimeOnLink(slow, 480, UsbScheduler::kXhci).most_us, 125.0 * 125 / 1607);
  EXPECT_DOUBLE_EQ(TimeOnLink(slow, 480, UsbScheduler::kEhci).most_us,
                   static_cast<double>(EhciMicroseconds(188)));
}

// drivers/usb/core/config.c: bInterval of isochronous endpoints is an exponent, 2^(n-1).
TEST(IntervalsPerSecond, FollowBInterval) {
  probes::UsbEndpoint endpoint;
  endpoint.type = probes::TransferType::kIsochronous;
  endpoint.interval = 1;
  EXPECT_DOUBLE_EQ(IntervalsPerSecond(endpoint, 480), 8000);
  EXPECT_DOUBLE_EQ(IntervalsPerSecond(endpoint, 12), 1000);
  endpoint.interval = 4;
  EXPECT_DOUBLE_EQ(IntervalsPerSecond(endpoint, 5000), 1000);
  endpoint.interval = -3;
  EXPECT_DOUBLE_EQ(IntervalsPerSecond(endpoint, 480), 8000);
}

}  // namespace
}  // namespace report
