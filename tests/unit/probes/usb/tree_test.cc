// SPDX-License-Identifier: Apache-2.0

#include "probes/usb/tree.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/usb/ports.h"
#include "tests/support/usb_made_descriptors.h"
#include "tests/support/usb_made_machine.h"

namespace {

using probes::ParseUsbPath;
using probes::ParseUsbSpeed;
using probes::ReadUsb;
using probes::RoleOf;
using probes::UsbDevice;
using probes::UsbInventory;
using probes::UsbRole;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::SizeIs;

const std::string kController = "sys/devices/pci0000:00/0000:00:14.0";

/// A device at `place` below the controller ("usb2", "usb2/2-1"), with the links to it.
std::string AddDevice(tests::UsbMadeMachine& machine, const std::string& place,
                      const tests::Blob& descriptors, const std::string& speed, int ports) {
  const std::string folder = kController + "/" + place;
  const std::string name = place.substr(place.rfind('/') + 1);
  const std::string base = name.starts_with("usb") ? name.substr(3) + "-0" : name;
  machine.File(folder + "/descriptors", descriptors);
  machine.File(folder + "/speed", speed + "\n");
  machine.File(folder + "/version", " 3.00\n");
  machine.File(folder + "/idVendor", "1209\n");
  machine.File(folder + "/idProduct", "0003\n");
  machine.File(folder + "/bMaxPower", "500mA\n");
  machine.File(folder + "/bmAttributes", "c0\n");
  machine.File(folder + "/bConfigurationValue", "1\n");
  machine.File(folder + "/maxchild", std::to_string(ports) + "\n");
  machine.File(folder + "/power/control", "auto\n");
  machine.File(folder + "/" + base + ":1.0/uevent", "DEVTYPE=usb_interface\nDRIVER=made_up\n");
  machine.Link("sys/bus/usb/devices/" + name, folder);
  machine.Link("sys/bus/usb/devices/" + base + ":1.0", folder + "/" + base + ":1.0");
  return folder;
}

tests::Blob HubBytes() {
  return tests::Join({tests::DeviceBytes(0x0300, 9, 9), tests::ConfigurationBytes(25),
                      tests::InterfaceBytes(0, 0, 9, 0), tests::EndpointBytes(0x81, 3, 2, 12)});
}

/// Both root hubs of one controller, a hub with both its halves, a capture device behind it.
void AddSmallTree(tests::UsbMadeMachine& machine) {
  AddDevice(machine, "usb1", HubBytes(), "480", 2);
  AddDevice(machine, "usb2", HubBytes(), "5000", 2);
  AddDevice(machine, "usb1/1-1", HubBytes(), "480", 4);
  AddDevice(machine, "usb2/2-1", HubBytes(), "5000", 4);
  AddDevice(machine, "usb2/2-1/2-1.4", tests::CaptureDeviceBytes(), "5000", 0);
  machine.Link(kController + "/usb1/1-0:1.0/usb1-port2/peer",
               kController + "/usb2/2-0:1.0/usb2-port2");
  machine.Folder(kController + "/usb2/2-0:1.0/usb2-port2");
  machine.Link(kController + "/usb2/2-1/2-1:1.0/2-1-port3/peer",
               kController + "/usb1/1-1/1-1:1.0/1-1-port3");
  machine.Folder(kController + "/usb1/1-1/1-1:1.0/1-1-port3");
}

const UsbDevice& Device(const UsbInventory& usb, const std::string& path) {
  static const UsbDevice none;
  for (const UsbDevice& device : usb.devices) {
    if (device.path == path) {
      return device;
    }
  }
  ADD_FAILURE() << "no device " << path;
  return none;
}

std::vector<std::string> Paths(const UsbInventory& usb) {
  std::vector<std::string> paths;
  for (const UsbDevice& device : usb.devices) {
    paths.push_back(device.path);
  }
  return paths;
}

TEST(ParseUsbPath, ReadsRootHubsAndPortChains) {
  EXPECT_EQ(ParseUsbPath("usb12"), (probes::UsbPath{12, {}}));
  EXPECT_EQ(ParseUsbPath("2-1.4.3"), (probes::UsbPath{2, {1, 4, 3}}));
  EXPECT_EQ(ParseUsbPath("2-1.4.3")->Parent(), "2-1.4");
  EXPECT_EQ(ParseUsbPath("2-1")->Parent(), "usb2");
  EXPECT_EQ(ParseUsbPath("usb2")->Parent(), "");
}

TEST(ParseUsbPath, RefusesOtherNames) {
  for (const char* name : {"", "usb", "usb0", "usbx", "2-", "2-1.", "-1", "2-1:1.0", "ep_00",
                           "2-+1", "99999999999-1", "2-0", "2-1.x"}) {
    EXPECT_FALSE(ParseUsbPath(name)) << name;
  }
}

// The strings of speed_show() in the Linux kernel, drivers/usb/core/sysfs.c.
TEST(ParseUsbSpeed, KnowsTheStringsOfTheKernel) {
  EXPECT_EQ(ParseUsbSpeed("1.5\n"), 1.5);
  EXPECT_EQ(ParseUsbSpeed("12"), 12);
  EXPECT_EQ(ParseUsbSpeed("480"), 480);
  EXPECT_EQ(ParseUsbSpeed("5000"), 5000);
  EXPECT_EQ(ParseUsbSpeed("10000"), 10000);
  EXPECT_EQ(ParseUsbSpeed("20000"), 20000);
}

TEST(ParseUsbSpeed, TakesNothingElse) {
  for (const char* text : {"", "unknown", "-480", "480 Mb/s", "1e9", "15"}) {
    EXPECT_EQ(ParseUsbSpeed(text), 0) << text;
  }
}

TEST(ReadUsb, JoinsTheHalvesOfHubs) {
  tests::UsbMadeMachine machine;
  AddSmallTree(machine);
  const auto usb = ReadUsb(machine.root());
  EXPECT_THAT(Paths(usb), ElementsAre("usb1", "1-1", "usb2", "2-1", "2-1.4"));
  EXPECT_EQ(Device(usb, "usb1").physical_hub, "usb1+usb2");
  EXPECT_EQ(Device(usb, "usb2").physical_hub, "usb1+usb2");
  EXPECT_EQ(Device(usb, "1-1").physical_hub, "1-1+2-1");
  EXPECT_EQ(Device(usb, "2-1").physical_hub, "1-1+2-1");
  EXPECT_EQ(Device(usb, "2-1.4").physical_hub, "");
}

TEST(ReadUsb, AHubWithoutAnotherHalfStandsAlone) {
  tests::UsbMadeMachine machine;
  AddSmallTree(machine);
  machine.Remove(kController + "/usb2/2-1/2-1:1.0/2-1-port3");
  const auto usb = ReadUsb(machine.root());
  EXPECT_EQ(Device(usb, "1-1").physical_hub, "1-1");
  EXPECT_EQ(Device(usb, "2-1").physical_hub, "2-1");
}

// Files of a port: Documentation/ABI/testing/sysfs-bus-usb and sysfs-devices-physical_location
// of the Linux kernel.
TEST(ReadUsb, ShowsThePortsOfHubs) {
  tests::UsbMadeMachine machine;
  AddSmallTree(machine);
  const std::string port = kController + "/usb2/2-0:1.0/usb2-port2";
  machine.File(port + "/connect_type", "hotplug\n");
  machine.File(port + "/over_current_count", "3\n");
  machine.File(port + "/physical_location/panel", "back\n");
  machine.Link(port + "/peer", kController + "/usb1/1-0:1.0/usb1-port2");
  const auto usb = ReadUsb(machine.root());
  const auto& ports = Device(usb, "usb2").port_list;
  ASSERT_THAT(ports, SizeIs(1));
  EXPECT_EQ(ports[0].number, 2);
  EXPECT_EQ(ports[0].connect_type, base::Reading<std::string>("hotplug"));
  EXPECT_EQ(ports[0].over_current_count, base::Reading<std::int64_t>(3));
  EXPECT_EQ(ports[0].panel, base::Reading<std::string>("back"));
  EXPECT_EQ(ports[0].peer, "usb1:2");
  ASSERT_THAT(Device(usb, "2-1").port_list, SizeIs(1));
  EXPECT_EQ(Device(usb, "2-1").port_list[0].peer, "1-1:3");
  EXPECT_FALSE(Device(usb, "2-1").port_list[0].panel.known());
  EXPECT_THAT(Device(usb, "2-1.4").port_list, IsEmpty());
}

TEST(ParsePortName, ReadsPortsOnly) {
  EXPECT_EQ(probes::ParsePortName("usb3-port12"), "usb3:12");
  EXPECT_EQ(probes::ParsePortName("2-1.4-port3"), "2-1.4:3");
  for (const char* name :
       {"", "usb3", "port1", "usb3-port", "usb3-port0", "x-port1", "usb3-port999", "usb3-port1x"}) {
    EXPECT_EQ(probes::ParsePortName(name), "") << name;
  }
}

TEST(ReadUsb, ReadsLanesAndTheProtocolOfHubs) {
  tests::UsbMadeMachine machine;
  AddSmallTree(machine);
  const std::string folder = kController + "/usb2/2-1";
  machine.File(folder + "/rx_lanes", "2\n");
  machine.File(kController + "/usb1/1-1/rx_lanes", "77\n");
  machine.Remove(kController + "/usb1/1-1/descriptors");
  machine.File(kController + "/usb1/1-1/bDeviceProtocol", "02\n");
  const auto usb = ReadUsb(machine.root());
  EXPECT_EQ(Device(usb, "2-1").lanes, base::Reading<int>(2));
  EXPECT_EQ(Device(usb, "2-1").protocol, 1);  // as its descriptor says
  EXPECT_FALSE(Device(usb, "1-1").lanes.known());
  EXPECT_EQ(Device(usb, "1-1").protocol, 2);  // as the kernel says where no descriptor is there
}

TEST(ReadUsb, NamesTheCapabilitiesOfADevice) {
  tests::UsbMadeMachine machine;
  AddSmallTree(machine);
  const std::string folder = kController + "/usb2/2-1/2-1.4";
  machine.File(folder + "/bos_descriptors",
               tests::BosBytes(tests::Join({tests::kUsb2Extension, tests::kSuperSpeed}), 2));
  const auto usb = ReadUsb(machine.root());
  EXPECT_THAT(Device(usb, "2-1.4").capabilities, ElementsAre("USB 2.0 extension", "SuperSpeed"));
  ASSERT_THAT(Device(usb, "2-1.4").video_functions, SizeIs(1));
  EXPECT_THAT(Device(usb, "2-1.4").video_functions[0].streams, SizeIs(1));
}

TEST(ReadUsb, TellsThatCapabilitiesCouldNotBeReadWhole) {
  tests::UsbMadeMachine machine;
  AddSmallTree(machine);
  machine.File(kController + "/usb2/2-1/2-1.4/bos_descriptors",
               tests::BosBytes(tests::kUsb2Extension, 2));
  const auto usb = ReadUsb(machine.root());
  EXPECT_EQ(Device(usb, "2-1.4").descriptor_fault, "the BOS counts 2 capabilities, 1 are there");
}

TEST(ReadUsb, PutsBothBusesUnderTheirController) {
  tests::UsbMadeMachine machine;
  AddSmallTree(machine);
  machine.File(kController + "/uevent", "PCI_CLASS=C0330\n");
  const auto usb = ReadUsb(machine.root());
  ASSERT_THAT(usb.controllers, SizeIs(1));
  EXPECT_EQ(usb.controllers[0].address, "0000:00:14.0");
  EXPECT_THAT(usb.controllers[0].buses, ElementsAre(1, 2));
  EXPECT_EQ(usb.controllers[0].driver, base::Reading<std::string>(""));
  EXPECT_EQ(usb.present, base::Reading<bool>(true));
}

TEST(ReadUsb, ReadsWhatADeviceSaysOfItself) {
  tests::UsbMadeMachine machine;
  AddSmallTree(machine);
  const auto usb = ReadUsb(machine.root());
  const UsbDevice& device = Device(usb, "2-1.4");
  EXPECT_EQ(device.parent, "2-1");
  EXPECT_EQ(device.bus, 2);
  EXPECT_EQ(device.port, 4);
  EXPECT_EQ(device.vendor_id, 0x1209);
  EXPECT_EQ(device.speed_mbps, 5000);
  EXPECT_EQ(device.usb_version, "3.00");
  EXPECT_EQ(device.max_power_ma, base::Reading<int>(500));
  EXPECT_EQ(device.self_powered, base::Reading<bool>(true));
  EXPECT_EQ(device.power_control, base::Reading<std::string>("auto"));
  EXPECT_FALSE(device.removable.known());
  EXPECT_EQ(device.role, UsbRole::kCapture);
  EXPECT_THAT(device.modes, SizeIs(1));
  EXPECT_THAT(device.descriptor_fault, IsEmpty());
  ASSERT_THAT(device.interfaces, SizeIs(3));
  EXPECT_EQ(device.interfaces[0].driver, base::Reading<std::string>("made_up"));
  EXPECT_FALSE(device.interfaces[1].driver.known());
}

TEST(ReadUsb, NamesOfStrangersComeOutAsText) {
  tests::UsbMadeMachine machine;
  const std::string folder = AddDevice(machine, "usb1/1-1", tests::CaptureDeviceBytes(), "5000", 0);
  machine.File(folder + "/manufacturer", "\x1b[2J\x07<script>\n");
  machine.File(folder + "/product",
               "Cam \xe2\x80\xae"
               "exe.\xff\xfe");
  const auto usb = ReadUsb(machine.root());
  const UsbDevice& device = Device(usb, "1-1");
  EXPECT_EQ(device.vendor, "\\x1B[2J\\x07<script>");
  EXPECT_THAT(device.product, testing::StartsWith("Cam "));
  EXPECT_THAT(device.product, Not(HasSubstr("\xe2\x80\xae")));
  EXPECT_THAT(device.product, Not(HasSubstr("\xff")));
}

TEST(ReadUsb, ADeviceThatVanishesStaysAsFarAsKnown) {
  tests::UsbMadeMachine machine;
  AddSmallTree(machine);
  machine.Link("sys/bus/usb/devices/1-2", kController + "/usb1/1-2");
  machine.Remove(kController + "/usb2/2-1/2-1.4/descriptors");
  machine.File(kController + "/usb2/2-1/2-1.4/2-1.4:1.0/bInterfaceClass", "0e\n");
  machine.File(kController + "/usb2/2-1/2-1.4/2-1.4:1.0/bInterfaceSubClass", "01\n");
  const auto usb = ReadUsb(machine.root());
  const UsbDevice& gone = Device(usb, "1-2");
  EXPECT_EQ(gone.parent, "usb1");
  EXPECT_EQ(gone.speed_mbps, 0);
  EXPECT_FALSE(gone.max_power_ma.known());
  EXPECT_THAT(gone.descriptor_fault, Not(IsEmpty()));
  const UsbDevice& bare = Device(usb, "2-1.4");
  ASSERT_THAT(bare.interfaces, SizeIs(1));
  EXPECT_EQ(bare.interfaces[0].interface_class, 0x0e);
  EXPECT_EQ(bare.role, UsbRole::kCapture);
  EXPECT_FALSE(bare.best_speed_mbps.known());
  EXPECT_THAT(bare.descriptor_fault, HasSubstr("descriptors"));
}

TEST(ReadUsb, VideoNodesBelongToTheDeviceNotToItsHub) {
  tests::UsbMadeMachine machine;
  AddSmallTree(machine);
  const std::string node = kController + "/usb2/2-1/2-1.4/2-1.4:1.0/video4linux/";
  for (const char* name : {"video10", "video2", "v4l-subdev0"}) {
    machine.Folder(node + name);
    machine.Link(std::string("sys/class/video4linux/") + name, node + name);
  }
  const auto usb = ReadUsb(machine.root());
  EXPECT_THAT(Device(usb, "2-1.4").video_nodes, ElementsAre("video2", "video10"));
  EXPECT_THAT(Device(usb, "2-1").video_nodes, IsEmpty());
}

TEST(ReadUsb, ValuesThatMakeNoSenseAreUnknown) {
  tests::UsbMadeMachine machine;
  const std::string folder =
      AddDevice(machine, "usb1/1-1", tests::CaptureDeviceBytes(), "fast", -7);
  machine.File(folder + "/bMaxPower", "-5mA\n");
  machine.File(folder + "/bmAttributes", "zz\n");
  const auto usb = ReadUsb(machine.root());
  const UsbDevice& device = Device(usb, "1-1");
  EXPECT_EQ(device.speed_mbps, 0);
  EXPECT_FALSE(device.best_speed_mbps.known());
  EXPECT_FALSE(device.max_power_ma.known());
  EXPECT_FALSE(device.self_powered.known());
  EXPECT_EQ(device.ports, 0);
}

TEST(ReadUsb, NoUsbIsAnAnswerAndNoSysfsIsNone) {
  tests::UsbMadeMachine machine;
  EXPECT_FALSE(ReadUsb(machine.root()).present.known());
  EXPECT_THAT(ReadUsb(machine.root()).present.why_unknown(), HasSubstr("/sys/bus/usb"));
  machine.Folder("sys/bus");  // without PCI, where a controller could wait for its driver
  EXPECT_THAT(ReadUsb(machine.root()).present.why_unknown(), HasSubstr("/sys/bus/usb"));
  machine.Folder("sys/bus/pci/devices");
  EXPECT_EQ(ReadUsb(machine.root()).present, base::Reading<bool>(false));
}

TEST(ReadUsb, AControllerWithoutADriverIsStillThere) {
  tests::UsbMadeMachine machine;
  const std::string folder = "sys/devices/pci0000:00/0000:00:05.0";
  machine.File(folder + "/class", "0x0c0330\n");
  machine.File(folder + "/uevent", "PCI_CLASS=C0330\n");
  machine.Link("sys/bus/pci/devices/0000:00:05.0", folder);
  const auto usb = ReadUsb(machine.root());
  ASSERT_THAT(usb.controllers, SizeIs(1));
  EXPECT_THAT(usb.controllers[0].buses, IsEmpty());
  EXPECT_EQ(usb.controllers[0].driver, base::Reading<std::string>(""));
  EXPECT_EQ(usb.present, base::Reading<bool>(true));
}

UsbDevice WithInterface(int cls, int subclass, int protocol) {
  UsbDevice device;
  probes::UsbInterface interface;
  interface.interface_class = cls;
  interface.subclass = subclass;
  interface.protocol = protocol;
  device.interfaces.push_back(interface);
  return device;
}

// Class codes: usb.org "Defined Class Codes".
TEST(RoleOf, GoesByClassCodes) {
  EXPECT_EQ(RoleOf(9, {}, false), UsbRole::kHub);
  EXPECT_EQ(RoleOf(0xef, WithInterface(0x0e, 1, 0), false), UsbRole::kCapture);
  EXPECT_EQ(RoleOf(0, WithInterface(0x08, 6, 0x50), false), UsbRole::kStorage);
  EXPECT_EQ(RoleOf(2, WithInterface(0x02, 0x06, 0), false), UsbRole::kNetwork);
  EXPECT_EQ(RoleOf(2, WithInterface(0x02, 0x02, 1), false), UsbRole::kOther);  // a modem's ACM
  EXPECT_EQ(RoleOf(0, WithInterface(0x01, 1, 0), false), UsbRole::kAudio);
  EXPECT_EQ(RoleOf(0, WithInterface(0x03, 1, 1), false), UsbRole::kInput);
  EXPECT_EQ(RoleOf(0xff, WithInterface(0xff, 0, 0), true), UsbRole::kNetwork);
  EXPECT_EQ(RoleOf(0xff, WithInterface(0xff, 0, 0), false), UsbRole::kOther);
}

TEST(RoleOf, AVideoNodeMakesAVendorsOwnDeviceACaptureDevice) {
  UsbDevice device = WithInterface(0xff, 0, 0);
  device.video_nodes = {"video0"};
  EXPECT_EQ(RoleOf(0xff, device, false), UsbRole::kCapture);
}

}  // namespace
