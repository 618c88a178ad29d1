// SPDX-License-Identifier: Apache-2.0
//
// The PC as a whole, displays, cards, disks and sound devices: every unknown with its reason.

#include "report/show/rows/machine.h"

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/hostile_document.h"
#include "tests/support/sample_inventory.h"
#include "tests/support/shown_part.h"

namespace report {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;
using tests::InFull;
using tests::InShort;

probes::BoardInventory OneModule(const probes::MemoryModule& module) {
  probes::BoardInventory board;
  board.memory = std::vector<probes::MemoryModule>{module};
  return board;
}

probes::DiskInventory OneDisk(const probes::Disk& disk) {
  probes::DiskInventory disks;
  disks.present = true;
  disks.disks = {disk};
  return disks;
}

TEST(BoardPart, AnEmptySocketIsNotAModuleOfUnknownSize) {
  probes::MemoryModule module;
  module.slot = "DIMM_A";
  module.size_bytes = std::int64_t{0};
  EXPECT_THAT(
      InFull(BoardPart(OneModule(module))),
      AllOf(HasSubstr("1 of 1 sockets empty"), HasSubstr("DIMM_A empty"), Not(HasSubstr("maker"))));
  module.size_bytes = base::Reading<std::int64_t>::Unknown("why size");
  EXPECT_THAT(InFull(BoardPart(OneModule(module))),
              AllOf(HasSubstr("DIMM_A size unknown: why size"),
                    HasSubstr("kind, speed, best speed, maker and part unknown: not read")));
}

TEST(BoardPart, EveryUnknownHasItsReason) {
  probes::BoardInventory board;
  board.model = base::Reading<std::string>::Unknown("why model");
  board.board_model = base::Reading<std::string>::Unknown("why board");
  board.firmware_version = base::Reading<std::string>::Unknown("why firmware");
  board.memory = base::Reading<std::vector<probes::MemoryModule>>::Unknown("why memory");
  board.memory_channels = base::Reading<int>::Unknown("why channels");
  const std::string text = InFull(BoardPart(board));
  for (const char* why : {"why model", "why board", "why firmware", "why memory", "why channels"}) {
    EXPECT_THAT(text, HasSubstr(std::string("unknown: ") + why));
  }
  EXPECT_THAT(text, Not(HasSubstr("0")));
}

TEST(DiskPart, EveryUnknownHasItsReasonAndNoneIsZero) {
  probes::Disk disk;
  disk.device.name = "sdx";
  disk.device.size_bytes = base::Reading<std::int64_t>::Unknown("why size");
  disk.device.rotational = base::Reading<bool>::Unknown("why spins");
  disk.device.transport = base::Reading<std::string>::Unknown("why connection");
  disk.removable = base::Reading<bool>::Unknown("why removable");
  disk.health.sound = base::Reading<bool>::Unknown("why sound");
  disk.health.temperature_c = base::Reading<double>::Unknown("why warm");
  disk.health.wear_percent = base::Reading<int>::Unknown("why wear");
  disk.health.spare_percent = base::Reading<int>::Unknown("why reserve");
  disk.health.powered_hours = base::Reading<std::int64_t>::Unknown("why hours");
  disk.health.written_bytes = base::Reading<std::int64_t>::Unknown("why written");
  disk.health.media_errors = base::Reading<std::int64_t>::Unknown("why reads");
  const std::string text = InFull(DiskPart(OneDisk(disk)));
  for (const char* why :
       {"why size", "why spins", "why connection", "why removable", "why sound", "why warm",
        "why wear", "why reserve", "why hours", "why written", "why reads"}) {
    EXPECT_THAT(text, HasSubstr(std::string("unknown: ") + why));
  }
  EXPECT_THAT(text, Not(HasSubstr("0")));
}

TEST(DiskPart, SaysWhatADiskCountsBesideWhatItDoesNotTell) {
  probes::Disk disk;
  disk.device.name = "sdx";
  disk.health.powered_hours = std::int64_t{8760};
  EXPECT_THAT(
      InFull(DiskPart(OneDisk(disk))),
      AllOf(
          HasSubstr("powered for 8,760 h"),
          HasSubstr("cells in reserve, written and reads that failed for good unknown: not read")));
  EXPECT_THAT(InShort(DiskPart(OneDisk(disk))), Not(HasSubstr("8,760")));
}

TEST(DiskPart, AReaderWithoutACardIsNotADiskOfUnknownSize) {
  probes::Disk disk;
  disk.device.size_bytes = std::int64_t{0};
  EXPECT_THAT(InFull(DiskPart(OneDisk(disk))), HasSubstr("no medium in it"));
}

TEST(OtherCardPart, TellsWhyADriverIsUnknown) {
  probes::PciInventory pci;
  pci.functions.resize(1);
  pci.functions[0].address = "0000:03:00.0";
  pci.functions[0].class_code = 0xff0000;
  pci.functions[0].driver = base::Reading<std::string>::Unknown("why driver");
  pci.functions[0].video_nodes = base::Reading<std::vector<std::string>>::Unknown("why nodes");
  EXPECT_THAT(InFull(OtherCardPart(pci)), AllOf(HasSubstr("driver unknown: why driver"),
                                                HasSubstr("video nodes unknown: why nodes")));
  pci.functions[0].driver = std::string();
  EXPECT_THAT(InFull(OtherCardPart(pci)), HasSubstr("no driver"));
}

TEST(DisplayPart, AConnectorThatDoesNotTellIsNotAnEmptyOne) {
  probes::GpuInventory gpu;
  gpu.connected_displays = base::Reading<int>::Unknown("why number");
  gpu.displays.resize(2);
  gpu.displays[0].connector = "DP-1";
  gpu.displays[0].connected = false;
  gpu.displays[1].connector = "DP-2";
  gpu.displays[1].connected = base::Reading<bool>::Unknown("why connected");
  EXPECT_THAT(InFull(DisplayPart(gpu)),
              AllOf(HasSubstr("unknown: why number"), HasSubstr("DP-1 nothing connected"),
                    HasSubstr("DP-2 unknown: why connected")));
}

TEST(SoundPart, NoneIsNotUnknown) {
  probes::SoundInventory sound;
  sound.present = false;
  EXPECT_THAT(InFull(SoundPart(sound)), HasSubstr("none"));
  sound.present = base::Reading<bool>::Unknown("why sound");
  EXPECT_THAT(InFull(SoundPart(sound)), HasSubstr("unknown: why sound"));
}

TEST(MachineRows, TakeNoEscapeCodesFromNames) {
  for (int number = 0; number < 8; ++number) {
    probes::Inventory machine = tests::SampleInventory();
    machine.board.model = HostileText(number);
    machine.gpu.displays[0].name = HostileText(number);
    machine.pci.functions[0].name = HostileText(number);
    machine.disks.disks[0].device.model = HostileText(number);
    machine.sound.cards[0].name = HostileText(number);
    for (const show::Part& part : MachineInShort(machine)) {
      EXPECT_THAT(InFull(part), AllOf(Not(HasSubstr("\x1b")), Not(HasSubstr("\xE2\x80\xAE")),
                                      Not(HasSubstr("\xFF"))));
    }
  }
}

}  // namespace
}  // namespace report
