// SPDX-License-Identifier: Apache-2.0

#include "probes/usb/bos.h"

#include <algorithm>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/usb_made_descriptors.h"

namespace {

using probes::BestUsbSpeed;
using probes::ParseBos;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Optional;
using tests::Blob;
using tests::Join;
using tests::kSuperSpeed;
using tests::kUsb2Extension;

Blob Bos(const Blob& capabilities) {
  return tests::BosBytes(capabilities);
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
  const auto bos =
      ParseBos(Bos(Join({kUsb2Extension, kSuperSpeed, tests::SuperSpeedPlusBytes(10, 1)})));
  EXPECT_THAT(bos.super_speed_mbps, Optional(10000.0));
}

TEST(ParseBos, TwoLanesThatItNeedsDoubleTheRate) {
  EXPECT_THAT(
      ParseBos(Bos(Join({kSuperSpeed, tests::SuperSpeedPlusBytes(10, 2)}))).super_speed_mbps,
      Optional(20000.0));
}

TEST(ParseBos, ARateThatNoUsbHasIsNotBelieved) {
  EXPECT_THAT(
      ParseBos(Bos(Join({kSuperSpeed, tests::SuperSpeedPlusBytes(200, 1)}))).super_speed_mbps,
      Optional(5000.0));
}

TEST(ParseBos, KeepsWhatStoodBeforeTheCut) {
  Blob bytes = Bos(Join({kSuperSpeed, tests::SuperSpeedPlusBytes(10, 1)}));
  bytes.resize(bytes.size() - 3);
  const auto bos = ParseBos(bytes);
  EXPECT_THAT(bos.super_speed_mbps, Optional(5000.0));
  EXPECT_THAT(bos.fault, HasSubstr("cut off"));
}

TEST(ParseBos, AnEmptyFileIsAFault) {
  EXPECT_THAT(ParseBos({}).fault, HasSubstr("empty"));
}

// Container, platform and billboard: USB 3.2, 9.6.2.3 and 9.6.2.4; USB Billboard Device
// Class 1.2.2, table 3-2. The numbers in them are made up.
const Blob kContainer{20, 0x10, 0x04, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16};
const Blob kPlatform{20, 0x10, 0x05, 0,    0x10, 0x32, 0x54, 0x76, 0x01, 0x02,
                     3,  4,    5,    0x06, 7,    8,    9,    10,   11,   12};

/// Three alternate modes: one failed, one not tried, one at work.
Blob Billboard() {
  Blob bytes(44 + 3 * 4, 0);
  bytes[0] = static_cast<std::uint8_t>(bytes.size());
  bytes[1] = 0x10;
  bytes[2] = 0x0d;
  bytes[4] = 3;
  bytes[8] = 2U | (1U << 2U) | (3U << 4U);
  return bytes;
}

TEST(ParseBos, TellsAllCapabilitiesApart) {
  const auto bos = ParseBos(tests::BosBytes(Join({kUsb2Extension,
                                                  kSuperSpeed,
                                                  tests::SuperSpeedPlusBytes(10, 1),
                                                  kContainer,
                                                  kPlatform,
                                                  Billboard(),
                                                  {3, 0x10, 0x0b},
                                                  {4, 0x10, 0x77, 0}}),
                                            8));
  EXPECT_EQ(bos.fault, "");
  EXPECT_THAT(bos.capabilities,
              ElementsAre("USB 2.0 extension", "SuperSpeed", "SuperSpeedPlus", "container",
                          "platform 76543210-0201-0403-0506-0708090a0b0c", "billboard",
                          "precision time measurement", "capability 0x77"));
}

TEST(ParseBos, ReadsWhatSuperSpeedSays) {
  const auto bos = ParseBos(Bos(Join({kUsb2Extension, kSuperSpeed})));
  ASSERT_TRUE(bos.super_speed);
  EXPECT_EQ(bos.super_speed->speeds, 2 | 4 | 8);
  EXPECT_EQ(bos.super_speed->least_speed, 1);
  EXPECT_EQ(bos.super_speed->u1_exit_us, 10);
  EXPECT_EQ(bos.super_speed->u2_exit_us, 2047);
  ASSERT_TRUE(bos.power_saving);
  EXPECT_TRUE(bos.power_saving->offered);
  EXPECT_TRUE(bos.power_saving->fine_grained);
}

TEST(ParseBos, ReadsEverySublink) {
  const auto bos = ParseBos(Bos(tests::SuperSpeedPlusBytes(10, 2)));
  ASSERT_TRUE(bos.super_speed_plus);
  EXPECT_EQ(bos.super_speed_plus->least_rx_lanes, 2);
  EXPECT_EQ(bos.super_speed_plus->least_tx_lanes, 2);
  ASSERT_THAT(bos.super_speed_plus->sublinks, testing::SizeIs(2));
  for (const auto& sublink : bos.super_speed_plus->sublinks) {
    EXPECT_EQ(sublink.mbps, 10000);
    EXPECT_TRUE(sublink.plus);
    EXPECT_FALSE(sublink.asymmetric);
  }
  EXPECT_FALSE(bos.super_speed_plus->sublinks[0].transmit);
  EXPECT_TRUE(bos.super_speed_plus->sublinks[1].transmit);
}

TEST(ParseBos, ABillboardTellsWhichModesAreNotAtWork) {
  const auto bos = ParseBos(Bos(Billboard()));
  ASSERT_TRUE(bos.billboard);
  EXPECT_EQ(bos.billboard->alternate_modes, 3);
  EXPECT_EQ(bos.billboard->failed, 1);
  EXPECT_EQ(bos.billboard->not_tried, 1);
}

TEST(ParseBos, CountsAndLengthsThatLieAreFaults) {
  EXPECT_THAT(ParseBos(tests::BosBytes(kSuperSpeed, 4)).fault,
              HasSubstr("counts 4 capabilities, 1 are there"));
  const auto bos = ParseBos(Bos(Join({{9, 0x10, 0x03, 0, 0x0e, 0, 1, 0, 0}, kUsb2Extension})));
  EXPECT_THAT(bos.fault, HasSubstr("'SuperSpeed' at byte 5 is too short"));
  EXPECT_THAT(bos.capabilities, ElementsAre("USB 2.0 extension"));
  EXPECT_FALSE(bos.super_speed_mbps);
}

TEST(ParseBos, ACapabilityWithoutAKindIsNone) {
  const auto bos = ParseBos(Bos(Join({{2, 0x10}, kSuperSpeed})));
  EXPECT_THAT(bos.fault, HasSubstr("at byte 5 is too short to have a kind"));
  EXPECT_THAT(bos.capabilities, ElementsAre("SuperSpeed"));
}

TEST(WithoutContainerIds, LeavesAllElse) {
  const auto text = [](const Blob& bytes) { return std::string(bytes.begin(), bytes.end()); };
  Blob nameless = kContainer;
  std::fill(nameless.begin() + 4, nameless.end(), std::uint8_t{0});
  const Blob before = Bos(Join({kUsb2Extension, kContainer, kSuperSpeed}));
  EXPECT_EQ(probes::WithoutContainerIds(text(before)),
            text(Bos(Join({kUsb2Extension, nameless, kSuperSpeed}))));
  EXPECT_EQ(probes::WithoutContainerIds(""), "");
  // A cut one may hold half of such a number.
  const std::string cut = text(before).substr(0, 5 + 7 + 12);
  EXPECT_EQ(probes::WithoutContainerIds(cut), cut.substr(0, 12));
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
