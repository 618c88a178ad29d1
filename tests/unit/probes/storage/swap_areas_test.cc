// SPDX-License-Identifier: Apache-2.0

#include "probes/storage/swap_areas.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/usb_made_machine.h"

namespace {

using testing::ElementsAre;
using testing::IsEmpty;
using testing::SizeIs;

// Columns as printed by swap_show() of the Linux kernel, mm/swapfile.c: sizes in KiB.
constexpr const char* kSwaps =
    "Filename\t\t\t\tType\t\tSize\t\tUsed\t\tPriority\n"
    "/dev/sda3                               partition\t1998844\t\t512\t\t-2\n"
    "/srv/swap\\040file                       file\t\t1024\t\t0\t\t-3\n";

TEST(ParseSwaps, ReadsNamesKindsAndSizes) {
  const auto areas = probes::ParseSwaps(kSwaps);
  ASSERT_THAT(areas, SizeIs(2));
  EXPECT_EQ(areas[0].name, "/dev/sda3");
  EXPECT_EQ(areas[0].kind, "partition");
  EXPECT_EQ(areas[0].size_bytes, std::int64_t{1998844} * 1024);
  EXPECT_EQ(areas[0].used_bytes, 512 * 1024);
  EXPECT_EQ(areas[1].name, "/srv/swap file");
  EXPECT_EQ(areas[1].kind, "file");
}

TEST(ParseSwaps, HeadingAloneAndJunkAreNone) {
  EXPECT_THAT(probes::ParseSwaps("Filename Type Size Used Priority\n"), IsEmpty());
  EXPECT_THAT(probes::ParseSwaps("/dev/sda3 partition\n\n"), IsEmpty());
  EXPECT_EQ(probes::ParseSwaps("/dev/x partition -5 99999999999999999999 1\n")[0].used_bytes, 0);
}

TEST(ReadSwapAreas, FindsTheDisksBelowAPartitionAndAFile) {
  tests::UsbMadeMachine machine;
  const std::string disk = "sys/devices/pci0000:00/0000:00:17.0/ata1/host0/block/sda";
  machine.File(disk + "/size", "4000000\n");
  machine.Link("sys/class/block/sda", disk);
  for (const char* part : {"sda2", "sda3"}) {
    machine.File(disk + "/" + part + "/partition", "2\n");
    machine.File(disk + "/" + part + "/size", "1000\n");
    machine.Link(std::string("sys/class/block/") + part, disk + "/" + part);
  }
  machine.Link("sys/dev/block/8:2", disk + "/sda2");
  machine.File("proc/self/mountinfo", "1 0 8:2 / / rw - ext4 /dev/sda2 rw\n");
  machine.File("proc/swaps", kSwaps);
  const auto areas = probes::ReadSwapAreas(machine.root());
  ASSERT_TRUE(areas);
  EXPECT_THAT((*areas)[0].disks, ElementsAre("sda"));
  EXPECT_THAT((*areas)[1].disks, ElementsAre("sda"));
}

TEST(ReadSwapAreas, NoSwapIsAnAnswerAndNoFileIsNone) {
  tests::UsbMadeMachine machine;
  EXPECT_FALSE(probes::ReadSwapAreas(machine.root()));
  machine.File("proc/swaps", "Filename Type Size Used Priority\n");
  const auto areas = probes::ReadSwapAreas(machine.root());
  ASSERT_TRUE(areas);
  EXPECT_THAT(*areas, IsEmpty());
}

}  // namespace
