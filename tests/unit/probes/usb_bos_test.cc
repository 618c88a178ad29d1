#include "probes/usb_bos.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/unit/probes/usb_made_descriptors.h"

namespace {

using probes::BestUsbSpeed;
using probes::ParseBos;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Optional;
using tests::Blob;
using tests::Join;

Blob Bos(const Blob& capabilities) {
  const auto total = static_cast<std::uint32_t>(5 + capabilities.size());
  return Join({{5, 0x0f, tests::Low(total), tests::High(total), 1}, capabilities});
}

// Layouts: USB 3.2 specification, 9.6.2.1 to 9.6.2.5.
const Blob kUsb2Extension{7, 0x10, 0x02, 0x06, 0, 0, 0};
const Blob kSuperSpeed{10, 0x10, 0x03, 0x00, 0x0e, 0x00, 0x01, 0x0a, 0xff, 0x07};

/// SuperSpeedPlus with symmetric lanes of `gbps`, needing `lanes` of them.
Blob SuperSpeedPlus(std::uint8_t gbps, std::uint8_t lanes) {
  const auto needs = static_cast<std::uint8_t>((lanes << 4U) | lanes);
  return {20, 0x10, 0x0a, 0, 1, 0, 0, 0, 0, needs, 0, 0, 0x30, 0x40, gbps, 0, 0xb0, 0x40, gbps, 0};
}

TEST(ParseBos, ADeviceOfUsb2HasNoSuperSpeed) {
  const auto bos = ParseBos(Bos(kUsb2Extension));
  EXPECT_FALSE(bos.super_speed_mbps);
  EXPECT_THAT(bos.fault, IsEmpty());
}

TEST(ParseBos, SuperSpeedIsFiveGigabits) {
  EXPECT_THAT(ParseBos(Bos(Join({kUsb2Extension, kSuperSpeed}))).super_speed_mbps,
              Optional(5000.0));
}

TEST(ParseBos, SuperSpeedPlusTakesItsFastestLane) {
  const auto bos = ParseBos(Bos(Join({kUsb2Extension, kSuperSpeed, SuperSpeedPlus(10, 1)})));
  EXPECT_THAT(bos.super_speed_mbps, Optional(10000.0));
}

TEST(ParseBos, TwoLanesThatItNeedsDoubleTheRate) {
  EXPECT_THAT(ParseBos(Bos(Join({kSuperSpeed, SuperSpeedPlus(10, 2)}))).super_speed_mbps,
              Optional(20000.0));
}

TEST(ParseBos, ARateThatNoUsbHasIsNotBelieved) {
  EXPECT_THAT(ParseBos(Bos(Join({kSuperSpeed, SuperSpeedPlus(200, 1)}))).super_speed_mbps,
              Optional(5000.0));
}

TEST(ParseBos, KeepsWhatStoodBeforeTheCut) {
  Blob bytes = Bos(Join({kSuperSpeed, SuperSpeedPlus(10, 1)}));
  bytes.resize(bytes.size() - 3);
  const auto bos = ParseBos(bytes);
  EXPECT_THAT(bos.super_speed_mbps, Optional(5000.0));
  EXPECT_THAT(bos.fault, HasSubstr("cut off"));
}

TEST(ParseBos, AnEmptyFileIsAFault) {
  EXPECT_THAT(ParseBos({}).fault, HasSubstr("empty"));
}

TEST(BestUsbSpeed, ASuperSpeedDeviceOnAUsb2PortCouldBeFaster) {
  EXPECT_EQ(BestUsbSpeed(480, 0x0210, ParseBos(Bos(kSuperSpeed))), base::Reading<double>(5000.0));
  EXPECT_EQ(BestUsbSpeed(480, 0x0320, std::nullopt), base::Reading<double>(5000.0));
}

TEST(BestUsbSpeed, AUsb2DeviceAtHighSpeedDoesItsBest) {
  EXPECT_EQ(BestUsbSpeed(480, 0x0200, std::nullopt), base::Reading<double>(480.0));
  EXPECT_EQ(BestUsbSpeed(480, 0x0210, ParseBos(Bos(kUsb2Extension))), base::Reading<double>(480.0));
}

TEST(BestUsbSpeed, IsNeverBelowTheLink) {
  EXPECT_EQ(BestUsbSpeed(10000, 0x0320, std::nullopt), base::Reading<double>(10000.0));
  EXPECT_EQ(BestUsbSpeed(10000, 0x0320, ParseBos(Bos(kSuperSpeed))),
            base::Reading<double>(10000.0));
}

TEST(BestUsbSpeed, WhatTheDescriptorsCannotSayStaysUnknown) {
  EXPECT_FALSE(BestUsbSpeed(480, 0x0210, std::nullopt).known());
  EXPECT_FALSE(BestUsbSpeed(12, 0x0200, std::nullopt).known());
  EXPECT_FALSE(BestUsbSpeed(0, 0x0300, std::nullopt).known());
}

TEST(BestUsbSpeed, AUsb1DeviceDoesItsBest) {
  EXPECT_EQ(BestUsbSpeed(12, 0x0110, std::nullopt), base::Reading<double>(12.0));
  EXPECT_EQ(BestUsbSpeed(1.5, 0x0200, std::nullopt), base::Reading<double>(1.5));
}

}  // namespace
