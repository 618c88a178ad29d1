// SPDX-License-Identifier: Apache-2.0
//
// The tree that ReadUsb makes of captured machines against what lsusb -t, usb-devices
// (usbutils 014) and v4l2-ctl (v4l-utils) printed in the same machines.

#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/text.h"
#include "probes/usb/tree.h"
#include "tests/reference/usb_answers.h"
#include "tests/support/places.h"

namespace {

using probes::UsbController;
using probes::UsbDevice;
using probes::UsbInventory;
using probes::UsbRole;
using testing::ElementsAre;
using testing::IsEmpty;
using testing::SizeIs;
using testing::UnorderedElementsAreArray;

constexpr const char* kOneController = "1xhci-disk-audio";
constexpr const char* kSharedHub = "2xhci-3capture-shared-hub";
constexpr const char* kHubAndDisk = "2xhci-2capture-hub-disk";

std::filesystem::path Machine(const std::string& name) {
  return support::Fixtures() / "machines" / name;
}

std::string Answer(const std::string& machine, const std::string& file) {
  return tests::ReadWhole(Machine(machine) / "ref" / file);
}

UsbInventory Read(const std::string& machine) {
  const auto root = base::MachineRoot::At(Machine(machine));
  EXPECT_TRUE(root) << machine;
  return root ? probes::ReadUsb(*root) : UsbInventory();
}

const UsbDevice& Device(const UsbInventory& usb, const std::string& path) {
  static const UsbDevice none;
  const auto found = std::ranges::find(usb.devices, path, &UsbDevice::path);
  EXPECT_NE(found, usb.devices.end()) << path;
  return found == usb.devices.end() ? none : *found;
}

const UsbController& ControllerOf(const UsbInventory& usb, int bus) {
  static const UsbController none;
  for (const UsbController& controller : usb.controllers) {
    if (std::ranges::find(controller.buses, bus) != controller.buses.end()) {
      return controller;
    }
  }
  ADD_FAILURE() << "no controller of bus " << bus;
  return none;
}

/// Class names as lsusb -t prints them.
std::string ClassName(int interface_class) {
  static const std::map<int, std::string> names = {{0x01, "Audio"},
                                                   {0x03, "Human Interface Device"},
                                                   {0x08, "Mass Storage"},
                                                   {0x09, "Hub"},
                                                   {0x0e, "Video"}};
  const auto found = names.find(interface_class);
  return found == names.end() ? fmt::format("class {:02x}", interface_class) : found->second;
}

class CapturedUsb : public testing::TestWithParam<const char*> {};

TEST_P(CapturedUsb, RootHubsAreThoseOfLsusb) {
  const auto usb = Read(GetParam());
  std::vector<tests::TreeAnswer::Root> roots;
  for (const UsbDevice& device : usb.devices) {
    if (device.parent.empty()) {
      roots.push_back({device.bus, ControllerOf(usb, device.bus).driver.value_or("?"), device.ports,
                       device.speed_mbps});
    }
  }
  const auto answer = tests::ParseLsusbTree(Answer(GetParam(), "lsusb-t.txt"));
  ASSERT_GE(answer.roots.size(), 2U);
  EXPECT_THAT(roots, UnorderedElementsAreArray(answer.roots));
}

TEST_P(CapturedUsb, InterfacesAreThoseOfLsusb) {
  const auto usb = Read(GetParam());
  std::vector<tests::TreeLine> lines;
  for (const UsbDevice& device : usb.devices) {
    for (const auto& interface : device.interfaces) {
      if (!device.parent.empty() && interface.alternate == 0) {
        lines.push_back({device.path, interface.number, ClassName(interface.interface_class),
                         interface.driver.value_or("?"), device.ports, device.speed_mbps});
      }
    }
  }
  const auto answer = tests::ParseLsusbTree(Answer(GetParam(), "lsusb-t.txt"));
  ASSERT_FALSE(answer.lines.empty());
  EXPECT_THAT(lines, UnorderedElementsAreArray(answer.lines));
}

TEST_P(CapturedUsb, DevicesAreThoseOfUsbDevices) {
  const auto usb = Read(GetParam());
  const auto answers = tests::ParseUsbDevices(Answer(GetParam(), "usb-devices.txt"));
  ASSERT_FALSE(answers.empty());
  ASSERT_THAT(usb.devices, SizeIs(answers.size()));
  for (std::size_t i = 0; i < answers.size(); ++i) {  // both go bus by bus, port by port
    const UsbDevice& device = usb.devices[i];
    const auto& answer = answers[i];
    SCOPED_TRACE(device.path);
    EXPECT_EQ(device.bus, answer.bus);
    EXPECT_EQ(device.port, answer.port);
    EXPECT_EQ(device.speed_mbps, answer.speed_mbps);
    EXPECT_EQ(device.ports, answer.ports);
    EXPECT_EQ(device.usb_version, answer.version);
    EXPECT_EQ(device.vendor_id, answer.vendor_id);
    EXPECT_EQ(device.product_id, answer.product_id);
    EXPECT_EQ(device.vendor, answer.manufacturer);
    EXPECT_EQ(device.product, answer.product);
    EXPECT_EQ(device.max_power_ma, base::Reading<int>(answer.max_power_ma));
    // Bit 6 of bmAttributes: USB 2.0 specification, table 9-10.
    EXPECT_EQ(device.self_powered, base::Reading<bool>((answer.attributes & 0x40) != 0));
    EXPECT_THAT(device.descriptor_fault, IsEmpty());
  }
}

TEST_P(CapturedUsb, SettingsAreThoseOfUsbDevices) {
  const auto usb = Read(GetParam());
  const auto answers = tests::ParseUsbDevices(Answer(GetParam(), "usb-devices.txt"));
  ASSERT_THAT(usb.devices, SizeIs(answers.size()));
  for (std::size_t i = 0; i < answers.size(); ++i) {
    SCOPED_TRACE(usb.devices[i].path);
    std::vector<std::string> interfaces;
    std::set<std::string> endpoints;
    for (const auto& interface : usb.devices[i].interfaces) {
      if (interface.alternate == 0) {
        interfaces.push_back(fmt::format("{} {:02x} {:02x} {:02x} {}", interface.number,
                                         interface.interface_class, interface.subclass,
                                         interface.protocol, interface.driver.value_or("?")));
      }
      for (const auto& endpoint : interface.endpoints) {
        // The attributes' low bits are the transfer type; the rest is not kept.
        endpoints.insert(fmt::format("{:02x} {} {}", endpoint.address,
                                     static_cast<int>(endpoint.type), endpoint.max_packet_bytes));
      }
    }
    EXPECT_EQ(interfaces, answers[i].interfaces);
    for (const std::string& answer : answers[i].endpoints) {
      const auto words = base::SplitWords(answer);
      ASSERT_THAT(words, SizeIs(3));
      const auto type = *base::ParseInt(words[1], 16) & 3;
      const std::string mine = fmt::format("{} {} {}", words[0], type, words[2]);
      EXPECT_TRUE(endpoints.contains(mine)) << mine;
    }
  }
}

TEST_P(CapturedUsb, VideoNodesAreThoseOfV4l2Ctl) {
  const auto usb = Read(GetParam());
  // "NAME (usb-0000:00:04.0-1.2):" and below it "\t/dev/video2"; a name may come twice.
  std::map<std::string, std::set<std::string>> answers;
  std::string place;
  const std::string answer = Answer(GetParam(), "v4l2-list-devices.txt");
  for (const auto line : base::Split(answer, '\n')) {
    const std::size_t open = line.find("(usb-");
    if (open != std::string_view::npos) {
      place = line.substr(open + 5, line.rfind(')') - open - 5);
    } else if (base::Trim(line).starts_with("/dev/video")) {
      answers[place].insert(std::string(base::Trim(line).substr(5)));
    }
  }
  std::map<std::string, std::set<std::string>> mine;
  for (const UsbDevice& device : usb.devices) {
    if (!device.video_nodes.empty()) {
      const std::string chain = device.path.substr(device.path.find('-'));
      mine[ControllerOf(usb, device.bus).address + chain].insert(device.video_nodes.begin(),
                                                                 device.video_nodes.end());
    }
  }
  EXPECT_EQ(mine, answers);
}

/// "yuyv422 1920x1080 60.000" for every format, raster and rate of v4l2-ctl --list-formats-ext.
std::set<std::string> ListedModes(std::string_view text) {
  // Four characters of V4L2: videodev2.h of the kernel.
  static const std::map<std::string, std::string> names = {
      {"YUYV", "yuyv422"}, {"NV12", "nv12"}, {"MJPG", "mjpeg"}};
  std::set<std::string> modes;
  std::string format;
  std::string raster;
  for (const auto line : base::Split(text, '\n')) {
    const auto words = base::SplitWords(line);
    if (words.size() >= 2 && words[0].starts_with("[")) {
      format = names.at(std::string(words[1].substr(1, 4)));
    } else if (words.size() == 3 && words[0] == "Size:") {
      raster = words[2];
    } else if (words.size() == 5 && words[0] == "Interval:") {
      modes.insert(fmt::format("{} {} {}", format, raster, words[3].substr(1)));
    }
  }
  return modes;
}

TEST_P(CapturedUsb, ModesAreThoseThatTheDriverLists) {
  const auto usb = Read(GetParam());
  for (const UsbDevice& device : usb.devices) {
    if (device.video_nodes.empty()) {
      continue;
    }
    SCOPED_TRACE(device.path);
    std::set<std::string> modes;
    for (const auto& mode : device.modes) {
      for (const std::int64_t interval : mode.intervals_100ns) {
        modes.insert(fmt::format("{} {}x{} {:.3f}", mode.pixel_format, mode.width, mode.height,
                                 1e7 / static_cast<double>(interval)));
      }
    }
    const auto answer =
        ListedModes(Answer(GetParam(), "v4l2-" + device.video_nodes.front() + "-formats.txt"));
    EXPECT_FALSE(answer.empty());
    EXPECT_EQ(modes, answer);
  }
}

INSTANTIATE_TEST_SUITE_P(Machines, CapturedUsb,
                         testing::Values(kOneController, kSharedHub, kHubAndDisk));

TEST(SharedHub, TwoCaptureDevicesHangOnOneHubAndOneStandsAlone) {
  const auto usb = Read(kSharedHub);
  EXPECT_EQ(Device(usb, "1-1.1").parent, "1-1");
  EXPECT_EQ(Device(usb, "1-1.2").parent, "1-1");
  EXPECT_EQ(Device(usb, "1-2").parent, "usb1");
  EXPECT_EQ(Device(usb, "4-1").parent, "usb4");
  EXPECT_EQ(Device(usb, "1-1").role, UsbRole::kHub);
  EXPECT_EQ(Device(usb, "1-1").physical_hub, "1-1");  // the emulator's hub has no USB 3 half
  for (const char* path : {"1-1.1", "1-1.2", "1-2", "4-1"}) {
    EXPECT_EQ(Device(usb, path).role, UsbRole::kCapture) << path;
  }
  EXPECT_NE(ControllerOf(usb, 1).address, ControllerOf(usb, 4).address);
}

TEST(SharedHub, BothRootHubsOfAControllerAreOnePlace) {
  const auto usb = Read(kSharedHub);
  ASSERT_THAT(usb.controllers, SizeIs(2));
  EXPECT_THAT(usb.controllers[0].buses, ElementsAre(1, 2));
  EXPECT_THAT(usb.controllers[1].buses, ElementsAre(3, 4));
  EXPECT_EQ(Device(usb, "usb1").physical_hub, "usb1+usb2");
  EXPECT_EQ(Device(usb, "usb2").physical_hub, "usb1+usb2");
  EXPECT_EQ(Device(usb, "usb3").physical_hub, "usb3+usb4");
  EXPECT_EQ(Device(usb, "usb4").physical_hub, "usb3+usb4");
}

TEST(HubAndDisk, TwoSuperSpeedCaptureDevicesShareAHubAndADisksController) {
  const auto usb = Read(kHubAndDisk);
  for (const char* path : {"2-1.1", "2-1.2"}) {
    EXPECT_EQ(Device(usb, path).parent, "2-1") << path;
    EXPECT_EQ(Device(usb, path).role, UsbRole::kCapture) << path;
    EXPECT_EQ(Device(usb, path).best_speed_mbps, base::Reading<double>(5000)) << path;
  }
  EXPECT_EQ(Device(usb, "2-2").role, UsbRole::kStorage);
  EXPECT_EQ(Device(usb, "2-2").parent, "usb2");
  EXPECT_EQ(ControllerOf(usb, 2).address, "0000:00:04.0");
  ASSERT_THAT(usb.controllers, SizeIs(2));
  for (const UsbDevice& device : usb.devices) {
    EXPECT_TRUE(device.parent.empty() || device.bus <= 2) << device.path;  // the second is free
  }
}

TEST_P(CapturedUsb, EveryPortOfAHubIsListed) {
  const auto usb = Read(GetParam());
  for (const UsbDevice& device : usb.devices) {
    SCOPED_TRACE(device.path);
    EXPECT_THAT(device.port_list, SizeIs(static_cast<std::size_t>(device.ports)));
    for (const auto& port : device.port_list) {
      EXPECT_TRUE(port.connect_type.known()) << port.number;
      // Who shares a socket says so of each other (kernel, drivers/usb/core/port.c: link_peers).
      const std::string mine = fmt::format("{}:{}", device.path, port.number);
      const std::size_t colon = port.peer.find(':');
      if (port.peer.empty()) {
        continue;
      }
      const auto number = *base::ParseInt(port.peer.substr(colon + 1));
      const auto& others = Device(usb, port.peer.substr(0, colon)).port_list;
      const auto other = std::ranges::find(others, number, &probes::UsbPort::number);
      ASSERT_NE(other, others.end());
      EXPECT_EQ(other->peer, mine);
    }
  }
}

TEST(OneController, KnowsStorageAndAudio) {
  const auto usb = Read(kOneController);
  EXPECT_EQ(Device(usb, "2-1").role, UsbRole::kStorage);
  EXPECT_EQ(Device(usb, "1-2").role, UsbRole::kAudio);
  EXPECT_EQ(Device(usb, "1-2").best_speed_mbps, base::Reading<double>(12));
}

}  // namespace
