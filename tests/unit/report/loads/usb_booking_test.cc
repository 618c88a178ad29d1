// SPDX-License-Identifier: Apache-2.0
//
// Time booked on buses, and how devices are called.

#include "report/loads/usb_booking.h"

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/evidence_builder.h"

namespace report::testing {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;

// 62500 bytes at 2 x 5 Gb/s take 62.5 us at the very least: line code 8b/10b, 1000 MB/s. One lane
// of 10 Gb/s has 128b/132b, 1212 MB/s (USB 3.2, 3.2.1), and is faster.
TEST(BookingLines, CountAllLanesOfALink) {
  probes::UsbDevice camera = Capture("2-1", "usb2", 2, 10000);
  camera.lanes = 2;
  UsbStream stream;
  stream.device = &camera;
  stream.counted = true;
  stream.least = stream.most = {10000, 62500, 1024, 1};
  UsbLink link;
  link.device = &camera;
  link.captures = {&camera};
  const BusTime time = stream.TimeOn(10000, UsbScheduler::kXhci, 2);
  ASSERT_LT(stream.TimeOn(10000, UsbScheduler::kXhci, 1).most_us, 62.5);
  link.reservable_us = 112.5;
  const BusBooking booking{&link};
  EXPECT_GE(time.most_us, 62.5);
  EXPECT_THAT(BookingLines(booking, {stream}),
              ElementsAre(HasSubstr(fmt::format("62500 bytes, {:.3g} us", time.most_us))));
}

probes::UsbDevice Named(const char* vendor, const char* product) {
  probes::UsbDevice device;
  device.vendor_id = 0x1d6b;
  device.product_id = 0x00a2;
  device.vendor = vendor;
  device.product = product;
  return device;
}

TEST(DeviceName, TellsTheMakerOnce) {
  EXPECT_EQ(DeviceName(Named("Lab", "Lab Capture HD")), "Lab Capture HD");
  EXPECT_EQ(DeviceName(Named("Lab", "Capture HD")), "Lab Capture HD");
  EXPECT_EQ(DeviceName(Named("", "Capture HD")), "Capture HD");
  EXPECT_EQ(DeviceName(Named("Lab", "")), "Lab");
  EXPECT_EQ(DeviceName(Named("", "")), "1d6b:00a2");
}

}  // namespace
}  // namespace report::testing
