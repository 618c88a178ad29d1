// SPDX-License-Identifier: Apache-2.0
//
// USB and PCIe rules: where each speaks and where it is silent.

#include <stdexcept>

#include <gtest/gtest.h>

#include "tests/support/rule_case.h"

namespace report::testing {
namespace {

probes::UsbDevice& DeviceAt(Evidence& evidence, const std::string& path) {
  for (probes::UsbDevice& device : evidence.inventory.usb.devices) {
    if (device.path == path) {
      return device;
    }
  }
  throw std::runtime_error("no device " + path);
}

void OneEhciBus(Evidence& evidence, int cameras, int bytes) {
  auto& usb = evidence.inventory.usb;
  usb.controllers.resize(1);
  usb.controllers[0].driver = std::string("ehci-pci");
  usb.controllers[0].buses = {1};
  usb.devices = {RootHub(1, 480)};
  evidence.profile.sources.clear();
  evidence.demand.sources.clear();
  for (int i = 1; i <= cameras; ++i) {
    usb.devices.push_back(Capture("1-" + std::to_string(i), "usb1", 1, 480));
    usb.devices.back().modes.clear();  // compressed: what the device asks is its smallest setting
    usb.devices.back().interfaces[0].endpoints[0].bytes_per_interval = bytes;
    AddSource(evidence, "Camera " + std::to_string(i), 2e6);
  }
}

void AddNeighbour(Evidence& evidence, const std::string& path, const std::string& parent, int bus) {
  probes::UsbDevice disk = Capture(path, parent, bus, 5000);
  disk.role = probes::UsbRole::kStorage;
  disk.interfaces.clear();
  evidence.inventory.usb.devices.push_back(disk);
}

void AddThirdController(Evidence& evidence) {
  probes::UsbController controller;
  controller.address = "0000:03:00.0";
  controller.driver = std::string("xhci_hcd");
  controller.buses = {6};
  evidence.inventory.usb.controllers.push_back(controller);
  evidence.inventory.usb.devices.push_back(RootHub(6, 5000));
}

void AddCaptureCard(Evidence& evidence, int width, int best_width) {
  probes::PciDevice card;
  card.address = "0000:04:00.0";
  card.name = "Invented card";
  card.link.speed_gts = 5.0;
  card.link.best_speed_gts = 5.0;
  card.link.width = width;
  card.link.best_width = best_width;
  evidence.inventory.gpu.capture_cards.push_back(card);
}

void BusPoweredHub(Evidence& evidence, int device_ma) {
  PutBehindOneHub(evidence, 2);
  DeviceAt(evidence, "2-1").self_powered = false;
  DeviceAt(evidence, "2-1").max_power_ma = 100;
  DeviceAt(evidence, "2-1.1").max_power_ma = device_ma;
  DeviceAt(evidence, "2-1.2").max_power_ma = device_ma;
}

void TwoPortsOfOneController(Evidence& evidence, double bytes_per_second) {
  auto& devices = evidence.inventory.usb.devices;
  devices.pop_back();
  devices.push_back(Capture("2-2", "usb2", 2, 5000));
  devices.back().port = 2;
  for (auto& source : evidence.demand.sources) {
    source.bytes_per_second = bytes_per_second;
  }
}

void BehindOneHubAsking(Evidence& evidence, double bytes_per_second) {
  PutBehindOneHub(evidence, 2);
  for (auto& source : evidence.demand.sources) {
    source.bytes_per_second = bytes_per_second;
  }
}

void TwoAudioInterfacesBehindAHub(Evidence& evidence, int hub_protocol) {
  auto& devices = evidence.inventory.usb.devices;
  devices.push_back(Hub("1-2", "usb1", 1, 480));
  devices.back().port = 2;
  devices.back().protocol = hub_protocol;
  for (int port = 1; port <= 2; ++port) {
    probes::UsbDevice audio = Capture("1-2." + std::to_string(port), "1-2", 1, 12);
    audio.port = port;
    audio.role = probes::UsbRole::kAudio;
    audio.modes.clear();
    audio.interfaces.resize(1);
    audio.interfaces[0].interface_class = 1;
    audio.interfaces[0].endpoints[0].max_packet_bytes = 1023;
    audio.interfaces[0].endpoints[0].bytes_per_interval = 1023;
    devices.push_back(audio);
  }
}

void UsbUnread(Evidence& e) {
  e.inventory.usb = {};
  e.inventory.usb.present = base::Reading<bool>::Unknown("permission denied");
}

void WithDriver(Evidence& evidence, const std::string& path, const std::string& driver) {
  for (probes::UsbInterface& interface : DeviceAt(evidence, path).interfaces) {
    interface.driver = driver;
  }
}

void HighSpeedWithoutBos(Evidence& evidence, const std::string& version, bool companions) {
  probes::UsbDevice& device = DeviceAt(evidence, "2-1");
  device.speed_mbps = 480;
  device.best_speed_mbps = base::Reading<double>::Unknown("no list of capabilities");
  device.usb_version = version;
  device.companions = companions;
}

/// That many below each other, and the camera behind the last.
void HubsInARow(Evidence& evidence, int hubs) {
  auto& devices = evidence.inventory.usb.devices;
  std::erase_if(devices, [](const auto& one) { return one.path == "2-1"; });
  std::string above = "usb2";
  std::string path = "2-1";
  for (int i = 0; i < hubs; ++i) {
    devices.push_back(Hub(path, above, 2, 5000));
    above = path;
    path += ".1";
  }
  devices.push_back(Capture(path, above, 2, 5000));
}

const std::vector<RuleCase> kUsbCases = {
    // Three 1080p30 yuyv422 pictures of 124.4 MB/s are less than the usable
    // 400 MB/s of a 5 Gb/s link, four are more (common practice figure).
    {"usb-link-oversubscribed",
     Severity::kStop,
     [](Evidence& e) {
       PutBehindOneHub(e, 4);
       AddSource(e, "Camera 3", 0);
       AddSource(e, "Camera 4", 0);
       for (auto& source : e.demand.sources) {
         source.bytes_per_second = 124.416e6;
       }
     },
     [](Evidence& e) {
       PutBehindOneHub(e, 3);
       AddSource(e, "Camera 3", 0);
       for (auto& source : e.demand.sources) {
         source.bytes_per_second = 124.416e6;
       }
     },
     {"2-1", "498 MB/s", "400 MB/s"}},
    {"usb-shared-hub",
     Severity::kWarn,
     [](Evidence& e) { PutBehindOneHub(e, 2); },
     [](Evidence& e) { PutBehindOneHub(e, 1); },
     {"2 capture devices", "hub at 2-1", "2-1.1", "2-1.2", "111 MB/s"}},
    {"usb-shared-controller",
     Severity::kWarn,
     [](Evidence& e) { TwoPortsOfOneController(e, 180e6); },
     [](Evidence& e) { TwoPortsOfOneController(e, 100e6); },
     {"0000:00:14.0", "360 MB/s"}},
    {"usb-bulk-neighbour",
     Severity::kWarn,
     [](Evidence& e) { AddNeighbour(e, "2-3", "usb2", 2); },
     [](Evidence& e) {
       AddThirdController(e);
       AddNeighbour(e, "6-1", "usb6", 6);
     },
     {"2-3", "0000:00:14.0"}},
    {"usb-capture-missing",
     Severity::kWarn,
     [](Evidence& e) { e.inventory.usb.devices.pop_back(); },
     [](Evidence&) {},
     {"1 of 2 USB sources", "Camera 2"}},
    {"usb-unread",
     Severity::kNote,
     UsbUnread,
     [](Evidence& e) { e.inventory.usb.devices.pop_back(); },
     {"is not known", "permission denied", "/sys/bus/usb"}},
    {"usb-capture-missing",
     Severity::kWarn,
     [](Evidence& e) { e.inventory.usb.devices.clear(); },
     UsbUnread,
     {"0 of 2 USB sources"}},
    {"usb-mode-not-offered",
     Severity::kWarn,
     [](Evidence& e) { DeviceAt(e, "4-1").modes[0].intervals_100ns = {400000}; },
     [](Evidence& e) { DeviceAt(e, "4-1").modes.clear(); },
     {"1280x720 yuyv422 at 30", "4-1", "25.00"}},
    // A mode that the descriptors list and the driver does not offer is not offered.
    {"usb-mode-not-offered",
     Severity::kWarn,
     [](Evidence& e) {
       DeviceAt(e, "4-1").driver_modes = std::vector<probes::CaptureMode>{
           {.pixel_format = "yuyv422", .width = 640, .height = 360, .intervals_100ns = {333333}}};
     },
     [](Evidence& e) {
       DeviceAt(e, "4-1").driver_modes = DeviceAt(e, "4-1").modes;
       DeviceAt(e, "4-1").modes.clear();
     },
     {"1280x720 yuyv422 at 30", "by what its driver offers", "offers 640x360"}},
    // Linux ehci-sched.c: 1024-byte intervals cost 21 us each, 100 us may be booked.
    {"usb-ehci-refuses",
     Severity::kStop,
     [](Evidence& e) { OneEhciBus(e, 5, 1024); },
     [](Evidence& e) { OneEhciBus(e, 4, 1024); },
     {"105 us", "No space left on device"}},
    // Linux xhci.h: 112.5 us of a SuperSpeed microframe; two intervals of 32768 bytes at 500 MB/s
    // take 131 us of it, two of 16384 less than 76 us.
    {"usb-no-bandwidth",
     Severity::kStop,
     [](Evidence& e) { BehindOneHubAsking(e, 200e6); },
     [](Evidence& e) { BehindOneHubAsking(e, 124.416e6); },
     {"usb2-port1", "131.1 us", "112.5", "32768 bytes", "hub at 2-1", "No space left on device"}},
    // Its largest setting holds 49152 bytes each microframe with 12 of header: 393.1 MB/s.
    {"usb-setting-too-small",
     Severity::kStop,
     [](Evidence& e) { e.demand.sources[0].bytes_per_second = 394e6; },
     [](Evidence& e) { e.demand.sources[0].bytes_per_second = 393e6; },
     {"2-1", "49262 bytes", "49152", "it starts with fewer pictures than asked, or not at all"}},
    // Linux hcd.c: 806 us for 1023 bytes at full speed, of 900 us that a translator may hold.
    {"usb-translator-full",
     Severity::kWarn,
     [](Evidence& e) { TwoAudioInterfacesBehindAHub(e, 1); },
     [](Evidence& e) { TwoAudioInterfacesBehindAHub(e, 2); },
     {"1-2", "1612 us", "900", "one translator for all ports", "hub at 1-2"}},
    {"usb-slower-than-it-could",
     Severity::kWarn,
     [](Evidence& e) { DeviceAt(e, "2-1").best_speed_mbps = 10000.0; },
     [](Evidence& e) {
       DeviceAt(e, "2-1").best_speed_mbps = base::Reading<double>::Unknown("no BOS");
     },
     {"5 Gb/s", "10 Gb/s", "2-1"}},
    {"usb-hub-power",
     Severity::kWarn,
     [](Evidence& e) { BusPoweredHub(e, 401); },
     [](Evidence& e) { BusPoweredHub(e, 400); },
     {"902 mA", "900"}},
    {"usb-autosuspend",
     Severity::kWarn,
     [](Evidence& e) { DeviceAt(e, "2-1").power_control = std::string("auto"); },
     [](Evidence& e) {
       DeviceAt(e, "2-1").power_control = base::Reading<std::string>::Unknown("denied");
     },
     {"2-1"}},
    {"usb-descriptors",
     Severity::kNote,
     [](Evidence& e) { DeviceAt(e, "2-1").descriptor_fault = "cut\x1b short"; },
     [](Evidence&) {},
     {"2-1", "\\x1B"}},
    {"usb-no-pictures",
     Severity::kWarn,
     [](Evidence& e) { WithDriver(e, "2-1", ""); },
     [](Evidence& e) {
       WithDriver(e, "2-1", "uvcvideo");
       DeviceAt(e, "2-1").video_nodes = {"video0"};
     },
     {"2-1", "no driver", "source Camera 1"}},
    {"usb-no-pictures",
     Severity::kWarn,
     [](Evidence& e) {
       WithDriver(e, "2-1", "uvcvideo");
       e.inventory.usb.nodes_read = true;
     },
     // Where the nodes of a machine were not listed, none is missed.
     [](Evidence& e) { WithDriver(e, "2-1", "uvcvideo"); },
     {"2-1", "uvcvideo has made no video node"}},
    // Another device's driver is there and has not taken this one.
    {"usb-no-pictures",
     Severity::kWarn,
     [](Evidence& e) {
       WithDriver(e, "2-1", "");
       WithDriver(e, "4-1", "uvcvideo");
       DeviceAt(e, "4-1").video_nodes = {"video0"};
     },
     [](Evidence& e) {
       for (auto& interface : DeviceAt(e, "2-1").interfaces) {
         interface.driver = base::Reading<std::string>::Unknown("denied");
       }
     },
     {"uvcvideo has taken other devices"}},
    // USB 3.2, 9.6.1: a SuperSpeed device says 2.10 where it runs at a lower speed.
    {"usb-may-be-faster",
     Severity::kNote,
     [](Evidence& e) { HighSpeedWithoutBos(e, "2.10", false); },
     [](Evidence& e) { HighSpeedWithoutBos(e, "2.01", false); },
     {"2-1", "may be", "USB 2.10"}},
    {"usb-may-be-faster",
     Severity::kNote,
     [](Evidence& e) { HighSpeedWithoutBos(e, "2.10", true); },
     [](Evidence& e) {
       HighSpeedWithoutBos(e, "2.10", true);
       DeviceAt(e, "2-1").capabilities = {"USB 2.0 extension"};
     },
     {"is most likely", "companions"}},
    {"usb-may-be-faster",
     Severity::kNote,
     [](Evidence& e) {
       HighSpeedWithoutBos(e, "2.00", true);
       DeviceAt(e, "2-1").best_speed_mbps = 480.0;
     },
     [](Evidence& e) { HighSpeedWithoutBos(e, "2.00", false); },
     {"may be", "companions"}},
    // USB 2.0, 4.1.1: "in seven tiers, five non-root hubs maximum can be supported".
    {"usb-hub-depth",
     Severity::kNote,
     [](Evidence& e) { HubsInARow(e, 5); },
     [](Evidence& e) { HubsInARow(e, 3); },
     {"fifth in a row", "USB allows five", "hub Invented hub (2-1.1)"}},
    {"usb-hub-depth",
     Severity::kNote,
     [](Evidence& e) { HubsInARow(e, 6); },
     [](Evidence& e) { HubsInARow(e, 1); },
     {"sixth in a row", "may not be found at all"}},
    {"usb-hub-depth",
     Severity::kNote,
     [](Evidence& e) { HubsInARow(e, 4); },
     [](Evidence& e) { HubsInARow(e, 2); },
     {"fourth in a row"}},
    {"memory-short",
     Severity::kStop,
     [](Evidence& e) { e.inventory.cpu.memory_available_bytes = std::int64_t{309'000'000}; },
     [](Evidence& e) { e.inventory.cpu.memory_available_bytes = std::int64_t{311'000'000}; },
     {"310 MB needed", "309 MB available", std::string(kCautionInside)}},
    {"disk-short",
     Severity::kStop,
     [](Evidence& e) { e.results.disks[0].sustained_bytes_per_second = 790e3; },
     [](Evidence& e) { e.results.disks[0].sustained_bytes_per_second = 810e3; },
     {"800 kB/s needed", "790 kB/s available"}},
    {"pcie-link-reduced",
     Severity::kWarn,
     [](Evidence& e) { AddCaptureCard(e, 1, 4); },
     [](Evidence& e) { AddCaptureCard(e, 4, 4); },
     {"1 lane of 4", "0000:04:00.0"}},
    // E010: v210 2160p60 is 1327.1 MB/s; gen 2 has 500 MB/s a lane after line code.
    {"pcie-link-oversubscribed",
     Severity::kStop,
     [](Evidence& e) {
       AddCaptureCard(e, 2, 2);
       AddSource(e, "SDI", 1327.1e6);
       e.profile.sources.back().arrives_by = profiles::ArrivesBy::kPcie;
     },
     [](Evidence& e) {
       AddCaptureCard(e, 4, 4);
       AddSource(e, "SDI", 1327.1e6);
       e.profile.sources.back().arrives_by = profiles::ArrivesBy::kPcie;
     },
     {"Invented card"}},
};

TEST_P(RuleTest, SpeaksWhereItShould) {
  ExpectSpeaks(GetParam());
}
TEST_P(RuleTest, IsSilentNearby) {
  ExpectSilent(GetParam());
}
INSTANTIATE_TEST_SUITE_P(Usb, RuleTest, ::testing::ValuesIn(kUsbCases), NameOf);

TEST(SharedHub, JoinsBothHalvesOfOneHubIntoOneFinding) {
  Evidence evidence = GoodEvidence();
  PutBehindOneHub(evidence, 1);
  auto& devices = evidence.inventory.usb.devices;
  devices.push_back(Hub("1-1", "usb1", 1, 480));
  devices.back().physical_hub = "hub at 2-1";
  devices.push_back(Capture("1-1.2", "1-1", 1, 480));
  const Document document = Assess(evidence);
  int found = 0;
  for (const Finding& finding : document.findings) {
    found += finding.id == "usb-shared-hub" ? 1 : 0;
  }
  EXPECT_EQ(found, 1);
  EXPECT_THAT(WholeText(*Find(document, "usb-shared-hub")),
              ::testing::AllOf(::testing::HasSubstr("USB 2 link of hub 1-1"),
                               ::testing::HasSubstr("USB 3 link of hub 2-1")));
}

TEST(SharedHub, NamesOnlyTheInnermostOfNestedHubs) {
  Evidence evidence = GoodEvidence();
  PutBehindOneHub(evidence, 0);
  auto& devices = evidence.inventory.usb.devices;
  devices.push_back(Hub("2-1.1", "2-1", 2, 5000));
  devices.push_back(Capture("2-1.1.1", "2-1.1", 2, 5000));
  devices.push_back(Capture("2-1.1.2", "2-1.1", 2, 5000));
  const Document document = Assess(evidence);
  const Finding* finding = Find(document, "usb-shared-hub");
  ASSERT_NE(finding, nullptr);
  EXPECT_THAT(finding->title, ::testing::HasSubstr("(2-1.1)"));
}

}  // namespace
}  // namespace report::testing
