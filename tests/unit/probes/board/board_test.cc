// SPDX-License-Identifier: Apache-2.0

#include "probes/board/board.h"

#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/board/smbios_memory.h"
#include "tests/support/usb_made_machine.h"

namespace {

using base::Reading;
using probes::MemoryModule;
using probes::MemoryTableWithoutSerials;
using probes::ParseSmbiosMemory;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::SizeIs;

constexpr std::int64_t kGib = std::int64_t{1} << 30;

/// Structure type 17 of SMBIOS 3.2 (DSP0134, 7.18: 0x54 bytes), an invented module.
std::string Device(int size, int type, int speed, int configured) {
  std::string area(0x54, '\0');
  const auto put = [&area](std::size_t at, int value) { area[at] = static_cast<char>(value); };
  const auto word = [&](std::size_t at, int value) {
    put(at, value & 0xff);
    put(at + 1, value >> 8);
  };
  put(0, 17);
  put(1, 0x54);
  word(0x0c, size);
  put(0x10, 1);
  put(0x11, 2);
  put(0x12, type);
  word(0x15, speed);
  put(0x17, 3);
  put(0x18, 4);
  put(0x19, 5);
  put(0x1a, 6);
  put(0x1c, 64);  // extended size: 64 * 1024 MiB
  put(0x1d, 0);
  word(0x1c, 0);
  put(0x1e, 1);  // 65536 MiB
  word(0x20, configured);
  const std::string strings(
      "DIMM_A1\0P0 CHANNEL A\0Example Memory\0SECRET-4711\0ASSET-12\0EX-32G\0\0", 65);
  return area + strings;
}

/// A structure of another kind, without strings.
std::string Other(int type) {
  std::string area(8, '\0');
  area[0] = static_cast<char>(type);
  area[1] = 8;
  return area + std::string(2, '\0');
}

const std::string kEnd("\x7f\x04\0\0\0\0", 6);

// DSP0134 3.7: 7.18.2 (types), 7.18.5 (sizes in MiB, or KiB with bit 15), 7.18.4 (speeds in MT/s).
TEST(ParseSmbiosMemory, ReadsModules) {
  const auto modules = ParseSmbiosMemory(Other(0) + Device(32768 - 16384, 0x1a, 3200, 2666) +
                                         Device(0, 2, 0, 0) + kEnd);
  ASSERT_THAT(modules, SizeIs(2));
  EXPECT_EQ(modules[0].slot, "DIMM_A1");
  EXPECT_EQ(modules[0].bank, "P0 CHANNEL A");
  EXPECT_EQ(modules[0].size_bytes, Reading<std::int64_t>(16 * kGib));
  EXPECT_EQ(modules[0].type, Reading<std::string>("DDR4"));
  EXPECT_EQ(modules[0].best_speed_mts, Reading<int>(3200));
  EXPECT_EQ(modules[0].speed_mts, Reading<int>(2666));
  EXPECT_EQ(modules[0].maker, Reading<std::string>("Example Memory"));
  EXPECT_EQ(modules[0].part, Reading<std::string>("EX-32G"));
  EXPECT_EQ(modules[1].size_bytes, Reading<std::int64_t>(0));
  EXPECT_FALSE(modules[1].type.known());
}

TEST(ParseSmbiosMemory, ReadsExtendedAndUnknownSizes) {
  EXPECT_EQ(ParseSmbiosMemory(Device(0x7fff, 0x22, 4800, 4800) + kEnd)[0].size_bytes,
            Reading<std::int64_t>(64 * kGib));
  EXPECT_FALSE(ParseSmbiosMemory(Device(0xffff, 0x22, 0, 0) + kEnd)[0].size_bytes.known());
  EXPECT_EQ(ParseSmbiosMemory(Device(0x8000 | 512, 0x12, 0, 0) + kEnd)[0].size_bytes,
            Reading<std::int64_t>(512 * 1024));
}

TEST(ParseSmbiosMemory, TakesAnyBytes) {
  const std::string table = Other(16) + Device(8192, 0x1a, 3200, 3200) + kEnd;
  for (std::size_t length = 0; length <= table.size(); ++length) {
    ParseSmbiosMemory(table.substr(0, length));
    ParseSmbiosMemory(MemoryTableWithoutSerials(table.substr(0, length)));
  }
  for (std::size_t at = 0; at < table.size(); ++at) {
    for (const int value : {0, 1, 3, 17, 127, 255}) {
      std::string changed = table;
      changed[at] = static_cast<char>(value);
      ParseSmbiosMemory(changed);
      ParseSmbiosMemory(MemoryTableWithoutSerials(changed));
    }
  }
}

TEST(MemoryTableWithoutSerials, ReadsAlikeAndHoldsNothingElse) {
  std::string system = Other(1);
  system.insert(8, "UUID-SECRET");
  const std::string table = system + Device(0x7fff, 0x22, 5600, 4800) + Device(0, 2, 0, 0) + kEnd;
  const std::string clean = MemoryTableWithoutSerials(table);
  for (const char* secret : {"SECRET", "ASSET-12", "4711"}) {
    EXPECT_THAT(clean, Not(HasSubstr(secret)));
  }
  const auto before = ParseSmbiosMemory(table);
  const auto after = ParseSmbiosMemory(clean);
  ASSERT_THAT(before, SizeIs(2));
  ASSERT_THAT(after, SizeIs(2));
  for (std::size_t i = 0; i < after.size(); ++i) {
    EXPECT_EQ(after[i].slot, before[i].slot);
    EXPECT_EQ(after[i].size_bytes, before[i].size_bytes);
    EXPECT_EQ(after[i].speed_mts, before[i].speed_mts);
    EXPECT_EQ(after[i].part, before[i].part);
  }
}

// A record of udev 252 in an emulated PC, as systemd's dmi_memory_id wrote it.
TEST(ParseUdevMemory, ReadsARecord) {
  const auto modules = probes::ParseUdevMemory(
      "I:7971355\n"
      "E:MEMORY_ARRAY_MAX_CAPACITY=2147483648\n"
      "E:MEMORY_DEVICE_0_SIZE=2147483648\n"
      "E:MEMORY_DEVICE_0_FORM_FACTOR=DIMM\n"
      "E:MEMORY_DEVICE_0_LOCATOR=DIMM 0\n"
      "E:MEMORY_DEVICE_0_BANK_LOCATOR=Not Specified\n"
      "E:MEMORY_DEVICE_0_TYPE=RAM\n"
      "E:MEMORY_DEVICE_0_SERIAL_NUMBER=Not Specified\n"
      "E:MEMORY_DEVICE_1_PRESENT=0\n"
      "E:MEMORY_ARRAY_NUM_DEVICES=2\n"
      "E:MEMORY_DEVICE_99999999_SIZE=1\nE:MEMORY_DEVICE_=1\nE:MEMORY_DEVICE_2=\n");
  ASSERT_THAT(modules, SizeIs(2));
  EXPECT_EQ(modules[0].slot, "DIMM 0");
  EXPECT_EQ(modules[0].bank, "");
  EXPECT_EQ(modules[0].size_bytes, Reading<std::int64_t>(2 * kGib));
  EXPECT_FALSE(modules[0].type.known());
  EXPECT_EQ(modules[1].size_bytes, Reading<std::int64_t>(0));
}

TEST(ChannelOf, ReadsTheNamesThatBoardsGive) {
  const auto channel = [](const char* slot, const char* bank) {
    MemoryModule module;
    module.slot = slot;
    module.bank = bank;
    return probes::ChannelOf(module);
  };
  EXPECT_EQ(channel("DIMM 0", "P0 CHANNEL A"), "P0 A");
  EXPECT_EQ(channel("DIMM 1", "P0 CHANNEL A"), "P0 A");
  EXPECT_EQ(channel("Controller1-ChannelB-DIMM0", "BANK 2"), "CONTROLLER1-B");
  EXPECT_EQ(channel("ChannelA-DIMM1", "BANK 1"), channel("ChannelA-DIMM0", "BANK 0"));
  EXPECT_EQ(channel("DIMM_A2", ""), "A");
  EXPECT_EQ(channel("DIMMB1", ""), "B");
  EXPECT_EQ(channel("DIMM 0", ""), "");
  EXPECT_EQ(channel("SODIMM", "CHANNEL"), "");
}

TEST(ReadBoard, ReadsTheModelAndLeavesFillersUnknown) {
  tests::UsbMadeMachine machine;
  machine.File("sys/class/dmi/id/sys_vendor", "Example Makers\n");
  machine.File("sys/class/dmi/id/product_name", "To Be Filled By O.E.M.\n");
  machine.File("sys/class/dmi/id/bios_date", "04/01/2024\n");
  machine.File("sys/firmware/dmi/tables/DMI", Device(8192, 0x1a, 3200, 3200) + kEnd);
  const auto board = probes::ReadBoard(machine.root());
  EXPECT_EQ(board.maker, Reading<std::string>("Example Makers"));
  EXPECT_FALSE(board.model.known());
  EXPECT_EQ(board.firmware_date, Reading<std::string>("04/01/2024"));
  ASSERT_TRUE(board.memory);
  EXPECT_EQ(board.memory_channels, Reading<int>(1));
}

TEST(ReadBoard, SaysWhyMemoryIsUnknown) {
  tests::UsbMadeMachine machine;
  const auto board = probes::ReadBoard(machine.root());
  EXPECT_THAT(board.memory.why_unknown(), HasSubstr("/sys/firmware/dmi/tables/DMI"));
  EXPECT_FALSE(board.memory_channels.known());
  EXPECT_FALSE(board.model.known());
}

TEST(ReadBoard, TakesTheErrorCountersWhereNothingElseTells) {
  tests::UsbMadeMachine machine;
  const std::string dimm = "sys/devices/system/edac/mc/mc0/dimm0";
  machine.File(dimm + "/size", "16384\n");
  machine.File(dimm + "/dimm_label", "CPU_0 Channel 1 DIMM 0\n");
  machine.File(dimm + "/dimm_mem_type", "Registered-DDR4\n");
  machine.File("sys/devices/system/edac/mc/mc0/power/control", "auto\n");
  const auto board = probes::ReadBoard(machine.root());
  ASSERT_TRUE(board.memory);
  ASSERT_THAT(*board.memory, SizeIs(1));
  EXPECT_EQ(board.memory->front().size_bytes, Reading<std::int64_t>(16 * kGib));
  EXPECT_EQ(board.memory_channels, Reading<int>(1));
}

}  // namespace
