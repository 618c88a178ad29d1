// SPDX-License-Identifier: Apache-2.0
//
// USB link sums against figures from the Linux sources and its documentation.

#include "report/loads/usb_capacity.h"

#include <map>

#include <gtest/gtest.h>

#include "report/headroom/headroom.h"

namespace report {
namespace {

using probes::TransferType;

double UsedPercent(double demand, double capacity) {
  return 100 - HeadroomPercent(demand, capacity);
}

// 8b/10b at 5 Gb/s and 128b/132b above: encyclopedia pages on USB 3 line codes.
TEST(UsbCapacity, RatesAfterLineCode) {
  EXPECT_DOUBLE_EQ(*CodedBytesPerSecond(5000), 500e6);
  EXPECT_NEAR(*CodedBytesPerSecond(10000), 1212.12e6, 0.01e6);
  EXPECT_NEAR(*CodedBytesPerSecond(20000), 2424.24e6, 0.01e6);
  EXPECT_FALSE(CodedBytesPerSecond(480));
}

// Linux Documentation/usb/ehci.rst: 13 bulk packets of 512 bytes in one microframe; USB 2.0
// table 5-10 has the same 53.248 MB/s.
TEST(UsbCapacity, HighSpeedBulkCeiling) {
  EXPECT_DOUBLE_EQ(*LinkBytesPerSecond(480, TransferType::kBulk), 53.248e6);
}

// Linux Documentation/driver-api/usb/usb.rst: 3 KiB every 125 us for one endpoint, and at most
// 80 % of a high-speed bus for periodic transfers: 6000 of 7500 byte times.
TEST(UsbCapacity, HighSpeedIsochronousShare) {
  EXPECT_DOUBLE_EQ(*StreamBytesPerSecond(480, TransferType::kIsochronous), 24.576e6);
  const double shared = *LinkBytesPerSecond(480, TransferType::kIsochronous);
  EXPECT_LE(shared, 6000.0 * 8000);
  EXPECT_GT(shared, 24.576e6);
}

// Linux drivers/usb/core/config.c: 1024 bytes x 16 x 3 every 125 us; xhci.h SS_BW_RESERVED: 10 %
// of a SuperSpeed bus stay free of periodic transfers.
TEST(UsbCapacity, SuperSpeedPayload) {
  EXPECT_DOUBLE_EQ(*StreamBytesPerSecond(5000, TransferType::kIsochronous), 393.216e6);
  // About 400 MB/s: a forum page that paraphrases the USB 3.0 specification.
  EXPECT_NEAR(*LinkBytesPerSecond(5000, TransferType::kBulk), 400e6, 1e6);
  EXPECT_LE(*LinkBytesPerSecond(5000, TransferType::kIsochronous), 0.9 * 500e6);
}

// 1023 bytes a frame (config.c); 19 bulk packets of 64 bytes (a chip vendor's help page).
TEST(UsbCapacity, FullSpeed) {
  EXPECT_DOUBLE_EQ(*LinkBytesPerSecond(12, TransferType::kIsochronous), 1.023e6);
  EXPECT_DOUBLE_EQ(*LinkBytesPerSecond(12, TransferType::kBulk), 1.216e6);
}

TEST(UsbCapacity, AnUnknownSpeedHasNone) {
  EXPECT_FALSE(LinkBytesPerSecond(0, TransferType::kBulk));
  EXPECT_FALSE(StreamBytesPerSecond(1234, TransferType::kIsochronous));
}

// 1920 x 1080 x 2 x 60000/1001 = 248.583417 MB/s (arithmetic): one fits on 5 Gb/s, two do not.
TEST(UsbWorkedExamples, FullHd5994OnOneSuperSpeedLink) {
  const double yuyv = 1920.0 * 1080 * 2 * 60000 / 1001;
  const double link = *LinkBytesPerSecond(5000, TransferType::kBulk);
  EXPECT_NEAR(UsedPercent(yuyv, *CodedBytesPerSecond(5000)), 49.72, 0.01);
  EXPECT_NEAR(UsedPercent(yuyv, link), 62.15, 0.01);
  EXPECT_GT(2 * yuyv, link);
}

// 2 x 1920 x 1080 x 1.5 x 60 = 373.248 MB/s against 400.
TEST(UsbWorkedExamples, TwoFullHdNv12OnOneSuperSpeedHub) {
  const double demand = 2 * 1920.0 * 1080 * 1.5 * 60;
  EXPECT_NEAR(UsedPercent(demand, *LinkBytesPerSecond(5000, TransferType::kBulk)), 93.31, 0.01);
}

// 1280 x 720 x 2 x 30 = 55.296 MB/s fits high speed neither way.
TEST(UsbWorkedExamples, HdYuyvOnHighSpeed) {
  const double demand = 1280.0 * 720 * 2 * 30;
  EXPECT_NEAR(UsedPercent(demand, *StreamBytesPerSecond(480, TransferType::kBulk)), 103.8, 0.1);
  EXPECT_NEAR(UsedPercent(demand, *StreamBytesPerSecond(480, TransferType::kIsochronous)), 225,
              0.1);
}

// 640 x 480 x 2 x 30 / 8000 = 2304 bytes per microframe of 3072.
TEST(UsbWorkedExamples, SdYuyvOnHighSpeed) {
  EXPECT_NEAR(
      UsedPercent(640.0 * 480 * 2 * 30, *StreamBytesPerSecond(480, TransferType::kIsochronous)), 75,
      1e-9);
}

// Linux include/linux/usb/hcd.h HS_NSECS_ISO and ehci-sched.c NS_TO_US, evaluated by hand there.
TEST(UsbWorkedExamples, EhciCostOfAnInterval) {
  const std::map<std::int64_t, std::int64_t> costs = {
      {512, 11},  {800, 17},  {944, 19},  {1024, 21}, {1280, 26},
      {1600, 32}, {1984, 40}, {2048, 41}, {2688, 53}, {3072, 61}};
  for (const auto& [bytes, microseconds] : costs) {
    EXPECT_EQ(EhciMicroseconds(bytes), microseconds) << bytes;
  }
  // ehci-hcd.c uframe_periodic_max: two cameras of 3 x 1024 never fit, four of 1024 do, five not.
  EXPECT_GT(2 * EhciMicroseconds(3072), kEhciPeriodicMicroseconds);
  EXPECT_LE(4 * EhciMicroseconds(1024), kEhciPeriodicMicroseconds);
  EXPECT_GT(5 * EhciMicroseconds(1024), kEhciPeriodicMicroseconds);
}

// 1080p60 against one SuperSpeed isochronous endpoint of 393.216 MB/s.
TEST(UsbWorkedExamples, FullHd60FormatsOnOneEndpoint) {
  const double endpoint = *StreamBytesPerSecond(5000, TransferType::kIsochronous);
  const double pixels = 1920.0 * 1080 * 60;
  EXPECT_NEAR(UsedPercent(pixels * 2, endpoint), 63.3, 0.05);
  EXPECT_NEAR(UsedPercent(pixels * 3, endpoint), 94.9, 0.05);
  EXPECT_NEAR(UsedPercent(pixels * 4, endpoint), 126.6, 0.05);
}

}  // namespace
}  // namespace report
