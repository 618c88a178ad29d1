// SPDX-License-Identifier: Apache-2.0
//
// Audio beside captures, and the translators of high-speed hubs.

#include "report/loads/usb_others.h"

#include <gtest/gtest.h>

#include "tests/support/evidence_builder.h"

namespace report::testing {
namespace {

// Linux hcd.c usb_calc_bus_time, by hand: BitTime(392) = 3658; 8354 x (31 + 36580) / 1000 + 8268.
constexpr double kAudioUs = 314.116;

probes::UsbDevice Audio(const std::string& path, const std::string& parent, int port) {
  probes::UsbDevice device = Capture(path, parent, 1, 12);
  device.role = probes::UsbRole::kAudio;
  device.port = port;
  device.modes.clear();
  device.interfaces.resize(1);
  device.interfaces[0].interface_class = 1;
  device.interfaces[0].endpoints[0].max_packet_bytes = 392;
  device.interfaces[0].endpoints[0].bytes_per_interval = 392;
  return device;
}

probes::UsbDevice Keyboard(const std::string& path, const std::string& parent, int port) {
  probes::UsbDevice device = Audio(path, parent, port);
  device.role = probes::UsbRole::kInput;
  device.speed_mbps = 1.5;
  device.interfaces[0].interface_class = 3;
  device.interfaces[0].endpoints[0].type = probes::TransferType::kInterrupt;
  device.interfaces[0].endpoints[0].max_packet_bytes = 8;
  return device;
}

probes::UsbInventory OneHub(int protocol) {
  probes::UsbInventory usb;
  usb.devices = {RootHub(1, 480), Hub("1-1", "usb1", 1, 480)};
  usb.devices[1].protocol = protocol;
  usb.devices.push_back(Audio("1-1.1", "1-1", 1));
  usb.devices.push_back(Audio("1-1.2", "1-1", 2));
  usb.devices.push_back(Keyboard("1-1.3", "1-1", 3));
  return usb;
}

TEST(LoadTranslators, OneForAllPortsServesThemTogether) {
  const probes::UsbInventory usb = OneHub(1);
  const auto loads = LoadTranslators(LoadUsbLinks(usb, {}));
  ASSERT_EQ(loads.size(), 1U);
  EXPECT_EQ(loads[0].port, 0);
  EXPECT_NEAR(loads[0].isochronous_us, 2 * kAudioUs, 0.01);
  EXPECT_NEAR(loads[0].interrupt_us, 117.897, 0.001);  // 8 bytes at low speed, hcd.c
  EXPECT_EQ(loads[0].lines.size(), 3U);
}

TEST(LoadTranslators, OneForEachPortServesEachByItself) {
  const probes::UsbInventory usb = OneHub(2);
  const auto loads = LoadTranslators(LoadUsbLinks(usb, {}));
  ASSERT_EQ(loads.size(), 3U);
  EXPECT_EQ(loads[1].port, 2);
  EXPECT_NEAR(loads[1].isochronous_us, kAudioUs, 0.01);
}

TEST(LoadTranslators, AFullSpeedHubBelowHangsOnTheSameTranslator) {
  probes::UsbInventory usb = OneHub(2);
  usb.devices.push_back(Hub("1-1.4", "1-1", 1, 12));
  usb.devices.back().port = 4;
  usb.devices.push_back(Audio("1-1.4.1", "1-1.4", 1));
  usb.devices.push_back(Audio("1-1.4.2", "1-1.4", 2));
  const auto loads = LoadTranslators(LoadUsbLinks(usb, {}));
  ASSERT_EQ(loads.size(), 4U);
  EXPECT_EQ(loads[3].port, 4);
  EXPECT_NEAR(loads[3].isochronous_us, 2 * kAudioUs, 0.01);
}

TEST(LoadTranslators, ARootPortNeedsNone) {
  probes::UsbInventory usb;
  usb.devices = {RootHub(1, 480), Audio("1-1", "usb1", 1)};
  EXPECT_TRUE(LoadTranslators(LoadUsbLinks(usb, {})).empty());
}

// xhci.h: each translator in use takes 125 blocks of 1607 of the high-speed bus, however many
// streams it passes on.
TEST(AddOtherPeriodic, CountsATranslatorOnceOnTheLinksAboveIt) {
  const probes::UsbInventory usb = OneHub(1);
  const auto links = LoadUsbLinks(usb, {});
  EXPECT_NEAR(FindLink(links, "1-1")->others_us, 125.0 * 125 / 1607, 1e-9);
  EXPECT_NEAR(FindLink(links, "1-1.1")->others_us, kAudioUs, 0.01);
  const probes::UsbInventory each = OneHub(2);
  EXPECT_NEAR(FindLink(LoadUsbLinks(each, {}), "1-1")->others_us, 2 * 125.0 * 125 / 1607, 1e-9);
}

TEST(AudioTransfers, TakesTheLargestSettingOfEachStream) {
  probes::UsbDevice device = Audio("1-1", "usb1", 1);
  device.interfaces.push_back(device.interfaces[0]);
  device.interfaces.back().alternate = 2;
  device.interfaces.back().endpoints[0].bytes_per_interval = 600;
  device.interfaces.push_back(device.interfaces[0]);
  device.interfaces.back().number = 7;
  const auto transfers = AudioTransfers(device);
  ASSERT_EQ(transfers.size(), 2U);
  EXPECT_EQ(transfers[0].bytes, 600);
  EXPECT_EQ(transfers[1].bytes, 392);
}

}  // namespace
}  // namespace report::testing
