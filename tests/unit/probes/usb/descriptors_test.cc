// SPDX-License-Identifier: Apache-2.0

#include "probes/usb/descriptors.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/usb/descriptor_walk.h"
#include "tests/support/usb_made_descriptors.h"

namespace {

using probes::ParseUsbDescriptors;
using probes::TransferType;
using probes::UsbDescriptors;
using probes::UsbEndpoint;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;
using tests::Blob;
using tests::Join;

/// A device of one interface that holds `endpoint` and what follows it.
UsbDescriptors WithEndpoint(const Blob& device, const Blob& endpoint, const Blob& after = {}) {
  const Blob body = Join({tests::InterfaceBytes(0, 1, 0xff, 0), endpoint, after});
  return ParseUsbDescriptors(
      Join({device, tests::ConfigurationBytes(static_cast<std::uint32_t>(9 + body.size())), body}));
}

UsbEndpoint OnlyEndpoint(const UsbDescriptors& read) {
  if (read.configurations.size() != 1 || read.configurations[0].interfaces.size() != 1 ||
      read.configurations[0].interfaces[0].endpoints.size() != 1) {
    ADD_FAILURE() << "not one endpoint";
    return {};
  }
  return read.configurations[0].interfaces[0].endpoints[0];
}

const Blob kHighSpeedDevice = tests::DeviceBytes(0x0200, 64);
const Blob kSuperSpeedDevice = tests::DeviceBytes(0x0300, 9);
constexpr std::uint8_t kIsochronous = 5;
constexpr std::uint8_t kBulk = 2;

/// The endpoint of a full isochronous packet, with what follows it.
UsbEndpoint OnlyIsochronous(const Blob& device, const Blob& after = {}) {
  return OnlyEndpoint(WithEndpoint(device, tests::EndpointBytes(0x81, kIsochronous, 1024), after));
}

TEST(ParseUsbDescriptors, AnEmptyFileIsAFault) {
  const auto read = ParseUsbDescriptors({});
  EXPECT_FALSE(read.device);
  EXPECT_THAT(read.fault, HasSubstr("empty"));
}

TEST(ParseUsbDescriptors, ReadsTheDevice) {
  const auto read = ParseUsbDescriptors(tests::CaptureDeviceBytes());
  ASSERT_TRUE(read.device);
  EXPECT_EQ(read.device->bcd_usb, 0x0300);
  EXPECT_EQ(read.device->vendor_id, 0x1209);
  EXPECT_EQ(read.device->product_id, 0x0003);
  EXPECT_EQ(read.device->device_class, 0xef);
  EXPECT_THAT(read.fault, IsEmpty());
  ASSERT_THAT(read.configurations, SizeIs(1));
  EXPECT_THAT(read.configurations[0].interfaces, SizeIs(3));
  EXPECT_THAT(read.configurations[0].modes, SizeIs(1));
}

TEST(ParseUsbDescriptors, KeepsEveryCutLength) {
  const Blob whole = tests::CaptureDeviceBytes();
  for (std::size_t length = 0; length < whole.size(); ++length) {
    const auto read = ParseUsbDescriptors(std::span(whole).first(length));
    EXPECT_THAT(read.fault, testing::Not(IsEmpty())) << length;
    EXPECT_EQ(read.device.has_value(), length >= 18) << length;
  }
}

TEST(ParseUsbDescriptors, ADescriptorOfNoLengthEndsTheReading) {
  const auto read = ParseUsbDescriptors(Join({kHighSpeedDevice,
                                              tests::ConfigurationBytes(27),
                                              tests::InterfaceBytes(0, 0, 3, 0),
                                              {0, 0, 0, 0, 0, 0, 0, 0, 0}}));
  ASSERT_THAT(read.configurations, SizeIs(1));
  EXPECT_THAT(read.configurations[0].interfaces, SizeIs(1));
  EXPECT_THAT(read.fault, HasSubstr("byte 36 says it is 0 bytes long"));
}

TEST(ParseUsbDescriptors, GoesOnWithTheNextConfigurationAfterNonsense) {
  const auto read = ParseUsbDescriptors(Join({kHighSpeedDevice,
                                              tests::ConfigurationBytes(13, 1),
                                              {0, 0, 0, 0},
                                              tests::ConfigurationBytes(18, 2),
                                              tests::InterfaceBytes(0, 0, 3, 0)}));
  ASSERT_THAT(read.configurations, SizeIs(2));
  EXPECT_EQ(read.configurations[1].value, 2);
  EXPECT_THAT(read.configurations[1].interfaces, SizeIs(1));
  EXPECT_THAT(read.fault, HasSubstr("0 bytes long"));
}

TEST(ParseUsbDescriptors, ATotalLengthBeyondTheFileIsAFault) {
  const auto read = ParseUsbDescriptors(
      Join({kHighSpeedDevice, tests::ConfigurationBytes(5000), tests::InterfaceBytes(0, 0, 3, 0)}));
  ASSERT_THAT(read.configurations, SizeIs(1));
  EXPECT_THAT(read.configurations[0].interfaces, SizeIs(1));
  EXPECT_THAT(read.fault, HasSubstr("only 36 bytes are there"));
}

TEST(ParseUsbDescriptors, ATotalLengthTooSmallLosesNothing) {
  const auto read = ParseUsbDescriptors(
      Join({kHighSpeedDevice, tests::ConfigurationBytes(0), tests::InterfaceBytes(0, 0, 3, 0)}));
  ASSERT_THAT(read.configurations, SizeIs(1));
  EXPECT_THAT(read.configurations[0].interfaces, SizeIs(1));
}

TEST(ParseUsbDescriptors, AnEndpointBeforeAnyInterfaceIsAFault) {
  const auto read = ParseUsbDescriptors(Join(
      {kHighSpeedDevice, tests::ConfigurationBytes(16), tests::EndpointBytes(0x81, kBulk, 512)}));
  EXPECT_THAT(read.fault, HasSubstr("endpoint"));
}

TEST(ParseUsbDescriptors, ReadsInterfaceAssociations) {
  const auto read = ParseUsbDescriptors(
      Join({kHighSpeedDevice, tests::ConfigurationBytes(17), {8, 0x0b, 0, 2, 0x0e, 3, 0, 0}}));
  ASSERT_THAT(read.configurations, SizeIs(1));
  ASSERT_THAT(read.configurations[0].associations, SizeIs(1));
  EXPECT_EQ(read.configurations[0].associations[0].interface_count, 2);
  EXPECT_EQ(read.configurations[0].associations[0].function_class, 0x0e);
}

// USB 2.0, 9.6.6: 1024 bytes, 3 packets = 3072 bytes a microframe, the most there is
// (kernel, Documentation/driver-api/usb/usb.rst: "up to 3KBytes every 125 usec").
TEST(UsbEndpoint, HighBandwidthCountsThreePackets) {
  const auto endpoint = OnlyEndpoint(
      WithEndpoint(kHighSpeedDevice, tests::EndpointBytes(0x81, kIsochronous, 0x1400)));
  EXPECT_EQ(endpoint.type, TransferType::kIsochronous);
  EXPECT_EQ(endpoint.max_packet_bytes, 1024);
  EXPECT_EQ(endpoint.packets_per_interval, 3);
  EXPECT_EQ(endpoint.bytes_per_interval, 3072);
}

TEST(UsbEndpoint, TheReservedPacketCountIsHeldToThree) {
  const auto endpoint = OnlyEndpoint(
      WithEndpoint(kHighSpeedDevice, tests::EndpointBytes(0x81, kIsochronous, 0x1c00)));
  EXPECT_EQ(endpoint.packets_per_interval, 3);
}

// USB 3.2, 9.6.7: burst 16, mult 3, 1024 bytes = 48 KiB an interval.
TEST(UsbEndpoint, SuperSpeedCountsBurstsAndMult) {
  const auto endpoint = OnlyIsochronous(kSuperSpeedDevice, tests::CompanionBytes(15, 2, 0xc000));
  EXPECT_EQ(endpoint.packets_per_interval, 48);
  EXPECT_EQ(endpoint.bytes_per_interval, 49152);
}

TEST(UsbEndpoint, BytesPerIntervalAreHeldToWhatThePacketsCarry) {
  const auto endpoint = OnlyIsochronous(kSuperSpeedDevice, tests::CompanionBytes(1, 0, 0xffff));
  EXPECT_EQ(endpoint.bytes_per_interval, 2048);
}

TEST(UsbEndpoint, ACompanionOfASlowerDeviceMeansNothing) {
  const auto endpoint = OnlyIsochronous(kHighSpeedDevice, tests::CompanionBytes(15, 2, 0xc000));
  EXPECT_EQ(endpoint.packets_per_interval, 1);
  EXPECT_EQ(endpoint.bytes_per_interval, 1024);
  EXPECT_EQ(endpoint.max_burst, 0);
  EXPECT_EQ(endpoint.mult, 0);
}

// They say nothing of the endpoint there, and that the device was made for more.
TEST(ParseUsbDescriptors, NotesCompanionsOfASlowerDevice) {
  const Blob isochronous = tests::EndpointBytes(0x81, kIsochronous, 1024);
  EXPECT_TRUE(
      WithEndpoint(kHighSpeedDevice, isochronous, tests::CompanionBytes(15, 2, 0xc000)).companions);
  EXPECT_FALSE(WithEndpoint(kHighSpeedDevice, isochronous).companions);
  EXPECT_FALSE(ParseUsbDescriptors(tests::CompanionBytes(15, 2, 0xc000)).companions);
}

TEST(UsbEndpoint, ACompanionAfterSomethingElseIsNotTheEndpoints) {
  const auto endpoint = OnlyIsochronous(kSuperSpeedDevice,
                                        Join({{3, 0x7f, 0}, tests::CompanionBytes(15, 2, 0xc000)}));
  EXPECT_EQ(endpoint.bytes_per_interval, 1024);
}

TEST(UsbEndpoint, BulkReservesNothing) {
  const auto endpoint =
      OnlyEndpoint(WithEndpoint(kSuperSpeedDevice, tests::EndpointBytes(0x81, kBulk, 1024, 0),
                                tests::CompanionBytes(15, 0, 0)));
  EXPECT_EQ(endpoint.type, TransferType::kBulk);
  EXPECT_EQ(endpoint.packets_per_interval, 16);
  EXPECT_EQ(endpoint.bytes_per_interval, 0);
}

// USB 3.2, 9.6.8: the figure of the isochronous companion replaces that of the other one.
TEST(UsbEndpoint, SuperSpeedPlusCarriesMoreAnInterval) {
  const auto endpoint =
      OnlyIsochronous(kSuperSpeedDevice,
                      Join({tests::CompanionBytes(15, 0x82, 1), {8, 0x31, 0, 0, 0, 0x80, 1, 0}}));
  EXPECT_EQ(endpoint.bytes_per_interval, 98304);
  EXPECT_EQ(endpoint.packets_per_interval, 96);
}

TEST(UsbEndpoint, KeepsBurstAndMultAsWritten) {
  const auto endpoint = OnlyIsochronous(kSuperSpeedDevice, tests::CompanionBytes(7, 1, 16384));
  EXPECT_EQ(endpoint.max_burst, 7);
  EXPECT_EQ(endpoint.mult, 1);
  EXPECT_EQ(endpoint.packets_per_interval, 16);
  EXPECT_EQ(endpoint.bytes_per_interval, 16384);
}

TEST(UsbEndpoint, OneWithoutACompanionHasNoBurst) {
  const auto endpoint = OnlyIsochronous(kSuperSpeedDevice);
  EXPECT_EQ(endpoint.max_burst, 0);
  EXPECT_EQ(endpoint.mult, 0);
  EXPECT_EQ(endpoint.packets_per_interval, 1);
}

// Linux, usb_parse_ss_endpoint_companion() reads the second companion only where bit 7 of the
// first one's bmAttributes announces it.
TEST(UsbEndpoint, ASecondCompanionThatIsNotAnnouncedMeansNothing) {
  const auto endpoint =
      OnlyIsochronous(kSuperSpeedDevice,
                      Join({tests::CompanionBytes(15, 2, 0xc000), {8, 0x31, 0, 0, 0, 0x80, 1, 0}}));
  EXPECT_EQ(endpoint.bytes_per_interval, 49152);
  EXPECT_EQ(endpoint.packets_per_interval, 48);
}

TEST(UsbEndpoint, SuperSpeedPlusIsHeldToItsPackets) {
  const auto endpoint = OnlyEndpoint(WithEndpoint(
      kSuperSpeedDevice, tests::EndpointBytes(0x81, kIsochronous, 8),
      Join({tests::CompanionBytes(15, 0x80, 1), {8, 0x31, 0, 0, 0xff, 0xff, 0xff, 0xff}})));
  EXPECT_EQ(endpoint.packets_per_interval, 96);
  EXPECT_EQ(endpoint.bytes_per_interval, 96 * 8);
}

// 1024 bytes are the most of any endpoint (high_speed_maxpacket_maxes and
// super_speed_maxpacket_maxes in the Linux kernel, drivers/usb/core/config.c).
TEST(UsbEndpoint, APacketLargerThanUsbHasIsHeldToTheMost) {
  const auto endpoint = OnlyEndpoint(
      WithEndpoint(kHighSpeedDevice, tests::EndpointBytes(0x81, kIsochronous, 0x07ff)));
  EXPECT_EQ(endpoint.max_packet_bytes, 1024);
  EXPECT_EQ(endpoint.bytes_per_interval, 1024);
}

TEST(DescriptorWalk, StopsAtALengthBeyondTheEnd) {
  const Blob bytes{2, 7, 9, 4, 0};
  probes::DescriptorWalk walk(bytes);
  ASSERT_TRUE(walk.Next());
  EXPECT_FALSE(walk.Next());
  EXPECT_FALSE(walk.Next());
  EXPECT_THAT(walk.fault(), HasSubstr("9 bytes at byte 2 is cut off after 3"));
}

TEST(DescriptorWalk, NumbersBeyondTheEndAreZero) {
  const Blob bytes{0x34, 0x12, 0xff};
  EXPECT_EQ(probes::Le16(bytes, 0), 0x1234);
  EXPECT_EQ(probes::Le16(bytes, 2), 0x00ff);
  EXPECT_EQ(probes::Le32(bytes, 7), 0U);
}

}  // namespace
