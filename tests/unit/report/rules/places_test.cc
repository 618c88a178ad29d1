// SPDX-License-Identifier: Apache-2.0
//
// Rules on PCIe links, cables, camera control, and what a PC does by itself.

#include <gtest/gtest.h>

#include "report/assess/first_repair.h"
#include "report/loads/recording_place.h"
#include "tests/support/pcie_machine.h"
#include "tests/support/rule_case.h"

namespace report::testing {
namespace {

void Share(Evidence& e, double capture_bytes, int width) {
  PutBehindOneSwitch(e, 2.5, width);
  AddCardSource(e, capture_bytes);
}

void NarrowPort(Evidence& e, double bytes_per_second) {
  auto& functions = e.inventory.pci.functions;
  functions = {PciFunction("0000:00:1c.0", kBridge, "", 5, 1),
               PciFunction("0000:03:00.0", kCaptureClass, "0000:00:1c.0", 5, 1)};
  functions[1].link.best_width = 4;
  e.inventory.gpu.capture_cards = {functions[1]};
  AddCardSource(e, bytes_per_second);
}

void OnChipset(Evidence& e, const char* name) {
  auto& functions = e.inventory.pci.functions;
  functions = {PciFunction("0000:00:14.0", kUsbController, "", 0, 0),
               PciFunction("0000:00:17.0", kNvme, "", 0, 0)};
  functions[0].name = std::string("Invented ") + name + " USB controller";
  functions[1].name = std::string("Invented ") + name + " SATA controller";
  e.inventory.storage[0].layers[0].pci_address = "0000:00:17.0";
}

void Sleeping(Evidence& e, const char* states) {
  e.inventory.pci.functions = {PciFunction("0000:00:14.0", kUsbController, "", 0, 0)};
  e.inventory.pci.functions[0].link_sleep = std::string(states);
}

const std::vector<RuleCase> kPcieCases = {
    // Gen 1 x1: 250 MB/s after line code, 210.5 after headers of 24 bytes for 128.
    {"pcie-shared-uplink",
     Severity::kStop,
     [](Evidence& e) { Share(e, 248.8e6, 1); },
     [](Evidence& e) { Share(e, 124.4e6, 1); },
     {"PCIe link at 0000:00:1c.0", "211 MB/s", "recording to /recordings"}},
    {"pcie-shared-uplink",
     Severity::kWarn,
     [](Evidence& e) { Share(e, 200e6, 1); },
     [](Evidence& e) { Share(e, 200e6, 4); },
     {"margin 15 %"}},
    {"pcie-link-reduced",
     Severity::kWarn,
     [](Evidence& e) {
       PutBehindOneSwitch(e, 8, 4);
       AddCardSource(e, 100e6);
       e.inventory.pci.functions[0].link.width = 1;
       e.inventory.pci.functions[1].link.width = 1;
     },
     [](Evidence& e) {
       PutBehindOneSwitch(e, 8, 4);
       AddCardSource(e, 100e6);
     },
     {"link at 0000:00:1c.0", "1 lane of 4", std::string(kCautionInside)}},
    // The slot has one lane and the card four: it runs as well as both ends can.
    {"pcie-port-narrow",
     Severity::kWarn,
     [](Evidence& e) { NarrowPort(e, 400e6); },
     [](Evidence& e) { NarrowPort(e, 100e6); },
     {"port 0000:00:1c.0 has 1 of the 4 lanes"}},
    {"pcie-chipset",
     Severity::kNote,
     [](Evidence& e) { OnChipset(e, "PCH"); },
     [](Evidence& e) { OnChipset(e, "CPU"); },
     {"2 functions in use share the chipset's uplink", "recording to /recordings"}},
    {"pcie-link-sleep",
     Severity::kNote,
     [](Evidence& e) { Sleeping(e, "L1, L1.2"); },
     [](Evidence& e) { Sleeping(e, "L0s, L1"); },
     {"L1, L1.2 switched on"}},
};

void CoaxTo(Evidence& e, double metres) {
  e.profile.sources[0].cable = profiles::Cable{.kind = profiles::CableKind::kSdiCoax,
                                               .metres = metres,
                                               .grade = profiles::CoaxGrade::kStandard,
                                               .attenuation_db_per_100m = {},
                                               .attenuation_at_mhz = {}};
  e.profile.sources[0].raster = {1920, 1080};
  e.profile.sources[0].rate = 30;
}

void SheetTo(Evidence& e, double metres) {
  CoaxTo(e, metres);
  e.profile.sources[0].cable->grade.reset();
  e.profile.sources[0].cable->attenuation_db_per_100m = 10;
  e.profile.sources[0].cable->attenuation_at_mhz = 371.25;  // a quarter of the clock
}

void Usb2Cable(Evidence& e, double bytes_per_second) {
  e.profile.sources[0].cable = profiles::Cable{};
  e.profile.sources[0].cable->kind = profiles::CableKind::kUsb2;
  e.profile.sources[0].cable->metres = 2;
  e.demand.sources[0].bytes_per_second = bytes_per_second;
}

void Chain(Evidence& e, profiles::ControlWires wires, int baud, std::vector<double> metres) {
  profiles::ControlChain chain;
  chain.name = "Stage";
  chain.wires = wires;
  chain.speed_baud = baud;
  for (std::size_t i = 0; i < metres.size(); ++i) {
    chain.cameras.push_back({e.profile.sources[i].name, static_cast<int>(i) + 1, metres[i]});
  }
  e.profile.camera_control = {chain};
}

const std::vector<RuleCase> kCableCases = {
    // Common practice, from memory: HD about 100 m of the usual cable.
    {"cable-length",
     Severity::kWarn,
     [](Evidence& e) { CoaxTo(e, 101); },
     [](Evidence& e) { CoaxTo(e, 99); },
     {"too long", "common practice", std::string(kCautionMains)}},
    // 10 dB at 371.25 MHz are 14.1 to 20 dB at 742.5 MHz: 20 dB are reached in 100 to 141 m.
    {"cable-length",
     Severity::kNote,
     [](Evidence& e) { SheetTo(e, 120); },
     [](Evidence& e) { SheetTo(e, 99.9); },
     {"may be too long", "standard", "100 to 141 m"}},
    {"cable-length",
     Severity::kWarn,
     [](Evidence& e) { SheetTo(e, 142); },
     [](Evidence& e) { e.profile.sources[0].cable.reset(); },
     {"is too long"}},
    {"cable-too-slow",
     Severity::kStop,
     [](Evidence& e) { Usb2Cable(e, 61e6); },
     [](Evidence& e) { Usb2Cable(e, 30e6); },
     {"USB 2 cable of Camera 1"}},
    {"control-length",
     Severity::kWarn,
     [](Evidence& e) {
       Chain(e, profiles::ControlWires::kRs232, 19200, {10, 16});
     },
     [](Evidence& e) {
       Chain(e, profiles::ControlWires::kRs232, 19200, {15, 15});
     },
     {"16 m the longest cable", "limit 15.24 m", std::string(kCautionMains)}},
    {"control-length",
     Severity::kWarn,
     [](Evidence& e) {
       Chain(e, profiles::ControlWires::kRs422, 9600, {700, 600});
     },
     [](Evidence& e) {
       Chain(e, profiles::ControlWires::kRs422, 9600, {700, 500});
     },
     {"1300 m in all", "1200 m", "standard"}},
    {"control-speed",
     Severity::kNote,
     [](Evidence& e) { Chain(e, profiles::ControlWires::kRs232, 38400, {2}); },
     [](Evidence& e) { Chain(e, profiles::ControlWires::kRs232, 19200, {2}); },
     {"38400 baud", "20 kbit/s"}},
    {"control-chain-break",
     Severity::kNote,
     [](Evidence& e) {
       Chain(e, profiles::ControlWires::kRs422, 9600, {5, 5});
     },
     [](Evidence& e) { Chain(e, profiles::ControlWires::kRs422, 9600, {5}); },
     {"controller - Camera 1 - Camera 2", "common practice"}},
};

void IdleAction(Evidence& e, const char* action, const char* target) {
  e.inventory.settings.idle_action = {std::string(action), "/etc/systemd/logind.conf"};
  e.inventory.settings.sleep_target = {std::string(target), ""};
}

void Lid(Evidence& e, const char* action, bool has_lid) {
  e.inventory.settings.lid_action = {std::string(action), ""};
  e.inventory.settings.has_lid = has_lid;
}

void States(Evidence& e, const char* target) {
  e.inventory.settings.sleep_states = std::vector<std::string>{"freeze", "mem"};
  e.inventory.settings.sleep_target = {std::string(target), ""};
}

void Timer(Evidence& e, bool idle) {
  probes::WorkTimer timer;
  timer.unit = "apt-daily-upgrade.timer";
  timer.work = "updates";
  timer.when = "OnCalendar=*-*-* 6:00";
  timer.delay = "6000";
  timer.catches_up = true;
  timer.idle = idle;
  e.inventory.settings.work_timers = std::vector<probes::WorkTimer>{timer};
}

void SwapOn(Evidence& e, const char* disk, std::int64_t used) {
  e.inventory.settings.swap_areas =
      std::vector<probes::SwapArea>{{"/dev/invented2", "partition", 1'000'000'000, used, {disk}}};
}

void Idle(Evidence& e, int latency_us, bool disabled) {
  e.inventory.settings.idle_states =
      std::vector<probes::CpuIdleState>{{"POLL", 0, false}, {"C10", latency_us, disabled}};
}

void Keepers(Evidence& e, const std::vector<std::string>& names) {
  std::vector<probes::ClockKeeper> keepers;
  keepers.reserve(names.size());
  for (const std::string& name : names) {
    keepers.push_back({name, "/etc/" + name, false});
  }
  e.inventory.settings.clock_keepers = keepers;
}

void SecondPlace(Evidence& e, const char* disk) {
  probes::StorageInventory second = e.inventory.storage[0];
  second.folder = "/isos";
  second.mount_point = std::string("/isos");
  second.layers[0].name = disk;
  e.inventory.storage.push_back(second);
  e.profile.outputs[0].folder = "/recordings";
  profiles::Output iso = e.profile.outputs[0];
  iso.name = "Iso";
  iso.folder = "/isos";
  e.profile.outputs.push_back(iso);
  profiles::OutputDemand demand = e.demand.outputs[0];
  demand.name = "Iso";
  e.demand.outputs.push_back(demand);
}

void ShowMultiview(Evidence& e, const char* mode) {
  e.profile.displays = 1;
  e.profile.multiview = profiles::Multiview{{3840, 2160}, 30};
  e.inventory.gpu.displays[0].mode = std::string(mode);
}

const std::vector<RuleCase> kSettingCases = {
    {"sleep-when-idle",
     Severity::kWarn,
     [](Evidence& e) { IdleAction(e, "suspend", "allowed"); },
     [](Evidence& e) { IdleAction(e, "suspend", "masked"); },
     {"IdleAction=suspend (/etc/systemd/logind.conf)"}},
    // Powering off is not kept away by a mask of sleep.target.
    {"sleep-when-idle",
     Severity::kWarn,
     [](Evidence& e) { IdleAction(e, "poweroff", "masked"); },
     [](Evidence& e) { IdleAction(e, "lock", "allowed"); },
     {"IdleAction=poweroff"}},
    {"sleep-lid",
     Severity::kWarn,
     [](Evidence& e) { Lid(e, "suspend", true); },
     [](Evidence& e) { Lid(e, "suspend", false); },
     {"HandleLidSwitch=suspend (no file sets it"}},
    {"sleep-allowed",
     Severity::kNote,
     [](Evidence& e) { States(e, "allowed"); },
     [](Evidence& e) { States(e, "masked"); },
     {"/sys/power/state: freeze mem"}},
    {"work-timers",
     Severity::kWarn,
     [](Evidence& e) { Timer(e, false); },
     [](Evidence& e) { Timer(e, true); },
     {"apt-daily-upgrade.timer", "OnCalendar=*-*-* 6:00", "up to 6000 s later", "missed"}},
    {"swap-on-recording-disk",
     Severity::kWarn,
     [](Evidence& e) { SwapOn(e, "nvme0n1", 4096); },
     [](Evidence& e) { SwapOn(e, "nvme1n1", 4096); },
     {"/dev/invented2", "/proc/swaps"}},
    {"swap-on-recording-disk",
     Severity::kNote,
     [](Evidence& e) { SwapOn(e, "nvme0n1", 0); },
     [](Evidence& e) {
       SwapOn(e, "nvme0n1", 0);
       e.inventory.settings.swappiness = 0;
     },
     {"nvme0n1"}},
    {"disk-shared",
     Severity::kWarn,
     [](Evidence& e) { SecondPlace(e, "nvme0n1"); },
     [](Evidence& e) { SecondPlace(e, "nvme1n1"); },
     {"2 recording folders are on one disk, nvme0n1", "/isos"}},
    {"power-saving-tuning",
     Severity::kWarn,
     [](Evidence& e) {
       e.inventory.settings.tuning_profile = {std::string("power-saver"), "/var/lib/x/state.ini"};
     },
     [](Evidence& e) {
       e.inventory.settings.tuning_profile = {std::string("balanced"), "/var/lib/x/state.ini"};
     },
     {"power-saver", "/var/lib/x/state.ini"}},
    {"cpu-idle-deep",
     Severity::kNote,
     [](Evidence& e) { Idle(e, 890, false); },
     [](Evidence& e) { Idle(e, 890, true); },
     {"890 us", "C10"}},
    {"clock-two-keepers",
     Severity::kWarn,
     [](Evidence& e) {
       Keepers(e, {"systemd-timesyncd", "chrony"});
     },
     [](Evidence& e) {
       Keepers(e, {"ptp4l", "phc2sys"});
     },
     {"chrony", "/etc/chrony"}},
    {"clock-not-synchronised",
     Severity::kNote,
     [](Evidence& e) {
       e.inventory.settings.clock_synchronised = base::Reading<bool>::Unknown("captured");
       Keepers(e, {});
     },
     [](Evidence& e) {
       e.inventory.settings.clock_synchronised = base::Reading<bool>::Unknown("captured");
       Keepers(e, {"chrony"});
     },
     {"no program that keeps the clock"}},
    {"display-mode",
     Severity::kWarn,
     [](Evidence& e) { ShowMultiview(e, "1920x1080i"); },
     [](Evidence& e) { ShowMultiview(e, "3840x2160"); },
     {"3840x2160", "HDMI-A-1: its first mode is 1920x1080i"}},
    {"display-mode",
     Severity::kWarn,
     [](Evidence& e) { ShowMultiview(e, "1280x720"); },
     [](Evidence& e) { ShowMultiview(e, "wide"); },
     {"1280x720"}},
};

TEST_P(RuleTest, SpeaksWhereItShould) {
  ExpectSpeaks(GetParam());
}
TEST_P(RuleTest, IsSilentNearby) {
  ExpectSilent(GetParam());
}
INSTANTIATE_TEST_SUITE_P(Pcie, RuleTest, ::testing::ValuesIn(kPcieCases), NameOf);
INSTANTIATE_TEST_SUITE_P(Cables, RuleTest, ::testing::ValuesIn(kCableCases), NameOf);
INSTANTIATE_TEST_SUITE_P(Settings, RuleTest, ::testing::ValuesIn(kSettingCases), NameOf);

// Bind mounts and subvolumes: two places of one filesystem have its free space once.
std::vector<std::string> StopsNaming(const Document& document, const std::string& what) {
  std::vector<std::string> ids;
  for (const Finding& finding : document.findings) {
    if (finding.severity == Severity::kStop && WholeText(finding).find(what) != std::string::npos) {
      ids.push_back(finding.id);
    }
  }
  return ids;
}

TEST(LinkFindings, TellAnOverfullCableOnceAndAsTheFirstRepair) {
  Evidence evidence = GoodEvidence();
  Usb2Cable(evidence, 100e6);
  const Document document = Assess(evidence);
  const std::string name = evidence.profile.sources[0].name;
  EXPECT_THAT(StopsNaming(document, name), ::testing::ElementsAre("cable-too-slow"));
  const Finding* first = FirstRepair(document.headroom, document.findings);
  ASSERT_NE(first, nullptr);
  EXPECT_EQ(first->id, "cable-too-slow");
}

TEST(LinkFindings, TellAnOverfullLinkThatARecordingSharesOnce) {
  Evidence evidence = GoodEvidence();
  Share(evidence, 209e6, 1);  // of 210.5 MB/s: the card alone fits, with its requests it does not
  evidence.demand.outputs[0].disk_bytes_per_second = 150e6;
  const Document document = Assess(evidence);
  EXPECT_THAT(StopsNaming(document, "PCIe link at 0000:00:1c.0"),
              ::testing::ElementsAre("pcie-shared-uplink"));
}

TEST(DiskShared, ShowsNoEscapesOfADisksName) {
  Evidence evidence = GoodEvidence();
  evidence.inventory.storage[0].layers[0].name = "disk\x1b[31m";
  SecondPlace(evidence, "disk\x1b[31m");
  const Document document = Assess(evidence);
  const Finding* finding = Find(document, "disk-shared");
  ASSERT_NE(finding, nullptr);
  EXPECT_THAT(WholeText(*finding), ::testing::Not(::testing::HasSubstr("\x1b")));
}

TEST(RecordingPlaces, CountOneFilesystemOnceWhereverItIsMounted) {
  Evidence evidence = GoodEvidence();
  SecondPlace(evidence, "nvme0n1");
  evidence.inventory.storage[0].filesystem_id = std::string("btrfs on nvme0n1p2");
  evidence.inventory.storage[1].filesystem_id = std::string("btrfs on nvme0n1p2");
  EXPECT_EQ(RecordingPlaces(evidence).size(), 1U);
  evidence.inventory.storage[1].filesystem_id = std::string("259:3");
  EXPECT_EQ(RecordingPlaces(evidence).size(), 2U);
}

}  // namespace
}  // namespace report::testing
