// SPDX-License-Identifier: Apache-2.0

#include "probes/pci_gpu/pci.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/pci_gpu/display.h"
#include "probes/pci_gpu/gpu.h"
#include "tests/support/usb_made_machine.h"

namespace {

using base::Reading;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

void AddCard(tests::UsbMadeMachine& machine, const std::string& address,
             const std::string& class_code) {
  const std::string folder = "sys/devices/pci0000:00/" + address;
  machine.File(folder + "/class", class_code + "\n");
  machine.File(folder + "/vendor", "0xfffe\n");
  machine.File(folder + "/device", "0x0001\n");
  machine.File(folder + "/uevent", "DRIVER=made_up\nPCI_ID=FFFE:0001\n");
  machine.File(folder + "/current_link_speed", "5.0 GT/s PCIe\n");
  machine.File(folder + "/current_link_width", "4\n");
  machine.File(folder + "/max_link_speed", "8.0 GT/s PCIe\n");
  machine.File(folder + "/max_link_width", "16\n");
  machine.Link("sys/bus/pci/devices/" + address, folder);
}

// Strings of pci_speed_string() in the Linux kernel, drivers/pci/probe.c.
TEST(ParseLinkSpeed, ReadsTheStringsOfTheKernel) {
  EXPECT_EQ(probes::ParseLinkSpeed("2.5 GT/s PCIe"), Reading<double>(2.5));
  EXPECT_EQ(probes::ParseLinkSpeed("16.0 GT/s PCIe\n"), Reading<double>(16.0));
  EXPECT_EQ(probes::ParseLinkSpeed("8 GT/s"), Reading<double>(8.0));
  EXPECT_EQ(probes::ParseLinkSpeed("64.0 GT/s PCIe"), Reading<double>(64.0));
}

TEST(ParseLinkSpeed, TheUnknownStaysUnknown) {
  for (const char* text :
       {"", "Unknown", "Unknown speed", "66 MHz PCI", "-5 GT/s", "nan GT/s", "5.0", "inf GT/s"}) {
    EXPECT_FALSE(probes::ParseLinkSpeed(text).known()) << text;
  }
}

TEST(ParseLinkWidth, NoLanesAndAllBitsSetMeanNoLink) {
  EXPECT_EQ(probes::ParseLinkWidth("16\n"), Reading<int>(16));
  for (const char* text : {"0", "255", "", "x4", "-1"}) {
    EXPECT_FALSE(probes::ParseLinkWidth(text).known()) << text;
  }
}

TEST(ReadPci, ReadsACardAndItsLink) {
  tests::UsbMadeMachine machine;
  AddCard(machine, "0000:00:02.0", "0x040000");
  const auto devices = probes::ReadPci(machine.root());
  ASSERT_TRUE(devices);
  ASSERT_THAT(*devices, SizeIs(1));
  const auto& card = devices->front();
  EXPECT_EQ(card.address, "0000:00:02.0");
  EXPECT_EQ(card.class_code, 0x040000);
  EXPECT_EQ(card.vendor_id, 0xfffe);
  EXPECT_THAT(card.name, testing::EndsWith("fffe:0001"));  // no database has this device
  EXPECT_EQ(card.driver, Reading<std::string>("made_up"));
  EXPECT_EQ(card.link.speed_gts, Reading<double>(5.0));
  EXPECT_EQ(card.link.width, Reading<int>(4));
  EXPECT_EQ(card.link.best_speed_gts, Reading<double>(8.0));
  EXPECT_EQ(card.link.best_width, Reading<int>(16));
}

TEST(ReadPci, FindsTheFunctionAboveTheSleepStatesAndThePowerSetting) {
  tests::UsbMadeMachine machine;
  AddCard(machine, "0000:00:1c.0", "0x060400");
  const std::string card = "sys/devices/pci0000:00/0000:00:1c.0/0000:04:00.0";
  machine.File(card + "/class", "0x040000\n");
  machine.File(card + "/power/control", "auto\n");
  machine.File(card + "/link/l0s_aspm", "0\n");
  machine.File(card + "/link/l1_aspm", "1\n");
  machine.File(card + "/link/l1_2_aspm", "1\n");
  machine.Link("sys/bus/pci/devices/0000:04:00.0", card);
  const auto devices = probes::ReadPci(machine.root());
  ASSERT_TRUE(devices);
  ASSERT_THAT(*devices, SizeIs(2));
  EXPECT_EQ((*devices)[0].parent, "");
  EXPECT_FALSE((*devices)[0].link_sleep.known());
  EXPECT_EQ((*devices)[1].parent, "0000:00:1c.0");
  EXPECT_EQ((*devices)[1].power_control, Reading<std::string>("auto"));
  EXPECT_EQ((*devices)[1].link_sleep, Reading<std::string>("L1, L1.2"));
}

// A volume device puts disks below a root complex of its own (domain 10000).
TEST(ParentFunction, EndsAtTheNearestRootComplex) {
  EXPECT_EQ(probes::ParentFunction("/sys/devices/pci0000:00/0000:00:1c.0/0000:02:00.0"),
            "0000:00:1c.0");
  EXPECT_EQ(probes::ParentFunction("/sys/devices/pci0000:00/0000:00:1c.0"), "");
  EXPECT_EQ(probes::ParentFunction(
                "/sys/devices/pci0000:00/0000:00:0e.0/pci10000:e0/10000:e0:06.0/10000:e1:00.0"),
            "10000:e0:06.0");
  EXPECT_EQ(
      probes::ParentFunction("/sys/devices/pci0000:00/0000:00:0e.0/pci10000:e0/10000:e0:06.0"), "");
  EXPECT_EQ(probes::ParentFunction(""), "");
}

TEST(ReadPciInventory, KeepsWhatSharesLinksWithCapture) {
  tests::UsbMadeMachine machine;
  EXPECT_FALSE(probes::ReadPciInventory(machine.root()).present.known());
  machine.Folder("sys/bus");
  EXPECT_THAT(probes::ReadPciInventory(machine.root()).present.why_unknown(),
              HasSubstr("/sys/bus/pci"));
  machine.Folder("sys/bus/pci/devices");
  EXPECT_EQ(probes::ReadPciInventory(machine.root()).present, Reading<bool>(false));
  AddCard(machine, "0000:00:01.0", "0x060400");  // PCI bridge
  AddCard(machine, "0000:00:02.0", "0x060100");  // ISA bridge
  AddCard(machine, "0000:00:03.0", "0x010802");  // NVMe
  AddCard(machine, "0000:00:04.0", "0x020000");  // Ethernet
  AddCard(machine, "0000:00:05.0", "0x0c0330");  // USB
  AddCard(machine, "0000:00:06.0", "0x0c0500");  // SMBus
  AddCard(machine, "0000:00:07.0", "0x040000");  // video
  const auto pci = probes::ReadPciInventory(machine.root());
  EXPECT_EQ(pci.present, Reading<bool>(true));
  EXPECT_THAT(pci.functions, SizeIs(5));
}

// Class codes: PCI Code and ID Assignment Specification 1.11.
TEST(ReadPciInventory, KeepsCardsWhoseClassTellsNothing) {
  tests::UsbMadeMachine machine;
  AddCard(machine, "0000:00:01.0", "0x118000");  // signal processing, other
  AddCard(machine, "0000:00:02.0", "0xff0000");  // none of the classes
  AddCard(machine, "0000:00:03.0", "0x000100");  // from before classes
  AddCard(machine, "0000:00:04.0", "0x080600");  // IOMMU
  EXPECT_THAT(probes::ReadPciInventory(machine.root()).functions, SizeIs(3));
}

TEST(ReadGpu, ACardWithAVideoNodeIsACaptureCardWhateverItsClass) {
  tests::UsbMadeMachine machine;
  AddCard(machine, "0000:00:01.0", "0xff0000");
  AddCard(machine, "0000:00:02.0", "0x0c0330");
  const std::string card = "sys/devices/pci0000:00/0000:00:01.0/video4linux/video3";
  const std::string camera =
      "sys/devices/pci0000:00/0000:00:02.0/usb1/1-1/1-1:1.0/video4linux/video0";
  machine.Folder(card);
  machine.Folder(camera);
  machine.Link("sys/class/video4linux/video3", card);
  machine.Link("sys/class/video4linux/video0", camera);
  const auto pci = probes::ReadPciInventory(machine.root());
  const auto gpu = probes::ReadGpu(machine.root(), pci);
  ASSERT_THAT(gpu.capture_cards, SizeIs(1));
  EXPECT_EQ(gpu.capture_cards[0].address, "0000:00:01.0");
  EXPECT_EQ(gpu.capture_cards[0].video_nodes,
            Reading<std::vector<std::string>>(std::vector<std::string>{"video3"}));
}

TEST(ReadPci, NumbersThatAreNoneAreNotShownAsNumbers) {
  tests::UsbMadeMachine machine;
  AddCard(machine, "0000:00:02.0", "0xffffffffff");
  machine.File("sys/devices/pci0000:00/0000:00:02.0/device", "0xffffffff\n");
  const auto devices = probes::ReadPci(machine.root());
  ASSERT_TRUE(devices);
  EXPECT_EQ(devices->front().class_code, 0);
  EXPECT_THAT(devices->front().name, HasSubstr("unknown"));
  EXPECT_THAT(devices->front().name, testing::Not(HasSubstr("-001")));
}

// PCI Express Base Specification, link status: no lanes where a function has no link.
TEST(ReadPci, OnlyLinkFilesTellThatThereIsNoLink) {
  tests::UsbMadeMachine machine;
  AddCard(machine, "0000:00:02.0", "0x040000");
  const std::string folder = "sys/devices/pci0000:00/0000:00:02.0";
  EXPECT_EQ(probes::ReadPci(machine.root())->front().link.none, Reading<bool>(false));
  machine.File(folder + "/max_link_width", "255\n");
  EXPECT_EQ(probes::ReadPci(machine.root())->front().link.none, Reading<bool>(true));
  machine.Remove(folder + "/max_link_width");
  EXPECT_THAT(probes::ReadPci(machine.root())->front().link.none.why_unknown(),
              HasSubstr("max_link_width"));
}

TEST(ReadPci, ACardWithoutLinkFilesHasAnUnknownLink) {
  tests::UsbMadeMachine machine;
  AddCard(machine, "0000:00:02.0", "0x040000");
  machine.Remove("sys/devices/pci0000:00/0000:00:02.0/current_link_speed");
  const auto devices = probes::ReadPci(machine.root());
  ASSERT_TRUE(devices);
  EXPECT_THAT(devices->front().link.speed_gts.why_unknown(), HasSubstr("current_link_speed"));
}

TEST(ReadPci, NoPciIsUnknownWithItsReason) {
  tests::UsbMadeMachine machine;
  const auto devices = probes::ReadPci(machine.root());
  ASSERT_FALSE(devices);
  EXPECT_THAT(devices.error().where, HasSubstr("/sys/bus/pci"));
  const auto gpu = probes::ReadGpu(machine.root(), probes::ReadPciInventory(machine.root()));
  EXPECT_FALSE(gpu.present.known());
  EXPECT_THAT(gpu.present.why_unknown(), HasSubstr("/sys/bus/pci"));
}

// Class codes: PCI Code and ID Assignment Specification 1.11, base classes 03 and 04.
TEST(ReadGpu, SortsAdaptersAndCaptureCards) {
  tests::UsbMadeMachine machine;
  AddCard(machine, "0000:00:02.0", "0x030000");
  AddCard(machine, "0000:00:03.0", "0x030200");
  AddCard(machine, "0000:00:04.0", "0x040000");
  AddCard(machine, "0000:00:05.0", "0x048000");
  AddCard(machine, "0000:00:06.0", "0x040300");  // audio
  AddCard(machine, "0000:00:07.0", "0x0c0330");  // USB
  const auto gpu = probes::ReadGpu(machine.root(), probes::ReadPciInventory(machine.root()));
  EXPECT_EQ(gpu.present, Reading<bool>(true));
  EXPECT_THAT(gpu.adapters, SizeIs(2));
  ASSERT_THAT(gpu.capture_cards, SizeIs(2));
  EXPECT_EQ(gpu.capture_cards[0].address, "0000:00:04.0");
}

TEST(ReadGpu, NoAdapterIsAnAnswer) {
  tests::UsbMadeMachine machine;
  machine.Folder("sys/bus/pci/devices");
  machine.Folder("sys/class/drm");
  const auto gpu = probes::ReadGpu(machine.root(), probes::ReadPciInventory(machine.root()));
  EXPECT_EQ(gpu.present, Reading<bool>(false));
  EXPECT_EQ(gpu.connected_displays, Reading<int>(0));
}

TEST(ReadDisplays, ReadsConnectorsButNoCardsOrWriteback) {
  tests::UsbMadeMachine machine;
  machine.File("sys/class/drm/card0/dev", "226:0\n");
  machine.File("sys/class/drm/card0-HDMI-A-1/status", "connected\n");
  machine.File("sys/class/drm/card0-HDMI-A-1/modes", "3840x2160\n1920x1080\n");
  machine.File("sys/class/drm/card0-DP-1/status", "disconnected\n");
  machine.File("sys/class/drm/card0-DP-1/modes", "");
  machine.File("sys/class/drm/card0-Writeback-1/status", "unknown\n");
  machine.File("sys/class/drm/renderD128/dev", "226:128\n");
  const auto displays = probes::ReadDisplays(machine.root());
  ASSERT_TRUE(displays);
  ASSERT_THAT(*displays, SizeIs(2));
  EXPECT_EQ((*displays)[0].connector, "DP-1");
  EXPECT_EQ((*displays)[0].connected, Reading<bool>(false));
  EXPECT_FALSE((*displays)[0].mode.known());
  EXPECT_EQ((*displays)[1].connector, "HDMI-A-1");
  EXPECT_EQ((*displays)[1].connected, Reading<bool>(true));
  EXPECT_EQ((*displays)[1].mode, Reading<std::string>("3840x2160"));
  EXPECT_EQ(
      probes::ReadGpu(machine.root(), probes::ReadPciInventory(machine.root())).connected_displays,
      Reading<int>(1));
}

TEST(ReadDisplays, WithoutADisplayDriverNothingIsKnownOfDisplays) {
  tests::UsbMadeMachine machine;
  machine.Folder("sys/class");
  machine.Folder("sys/bus/pci/devices");
  const auto gpu = probes::ReadGpu(machine.root(), probes::ReadPciInventory(machine.root()));
  EXPECT_THAT(gpu.connected_displays.why_unknown(), HasSubstr("/sys/class/drm"));
  EXPECT_THAT(gpu.present.why_unknown(), HasSubstr("/sys/class/drm"));
  machine.Folder("sys/class/drm");
  ASSERT_TRUE(probes::ReadDisplays(machine.root()));
  EXPECT_THAT(*probes::ReadDisplays(machine.root()), IsEmpty());
}

TEST(ReadDisplays, AnOutputThatDoesNotTellIsNeitherEmptyNorConnected) {
  tests::UsbMadeMachine machine;
  machine.File("sys/class/drm/card0-VGA-1/status", "unknown\n");
  machine.Folder("sys/class/drm/card0-DP-1");
  const auto displays = probes::ReadDisplays(machine.root());
  ASSERT_TRUE(displays);
  ASSERT_THAT(*displays, SizeIs(2));
  EXPECT_THAT((*displays)[0].connected.why_unknown(), HasSubstr("status"));
  EXPECT_THAT((*displays)[1].connected.why_unknown(), HasSubstr("unknown"));
  const auto gpu = probes::ReadGpu(machine.root(), probes::ReadPciInventory(machine.root()));
  EXPECT_FALSE(gpu.connected_displays.known());
}

TEST(ParseFirstMode, TakesTheFirstLineAsText) {
  EXPECT_EQ(probes::ParseFirstMode("1920x1080i\n640x480\n"), Reading<std::string>("1920x1080i"));
  EXPECT_FALSE(probes::ParseFirstMode("").known());
  EXPECT_EQ(probes::ParseFirstMode("\x1b[31m\n"), Reading<std::string>("\\x1B[31m"));
}

}  // namespace
