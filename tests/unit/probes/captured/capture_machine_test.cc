// SPDX-License-Identifier: Apache-2.0

#include "probes/captured/capture_machine.h"

#include <sys/statvfs.h>

#include <fstream>
#include <iterator>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/captured/open_machine.h"
#include "probes/storage/captured_space.h"
#include "probes/storage/storage.h"
#include "probes/take_inventory.h"
#include "tests/support/usb_made_machine.h"

namespace {

using probes::CaptureMachine;
using probes::OpenMachine;
using probes::TakeInventory;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;
using testing::SizeIs;

class Capture : public testing::Test {
 protected:
  std::filesystem::path Archive() const { return folder_.path() / "machine.tar.gz"; }

  probes::TemporaryFolder folder_ = *probes::TemporaryFolder::Make();
};

/// Everything in the archive, for looking for what must not be there.
std::string AllTexts(const std::filesystem::path& folder) {
  std::string all;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder)) {
    all += entry.path().string() + "\n";
    if (entry.is_symlink()) {
      all += std::filesystem::read_symlink(entry.path()).string() + "\n";
    } else if (entry.is_regular_file()) {
      std::ifstream file(entry.path(), std::ios::binary);
      all.append(std::istreambuf_iterator<char>(file), {});
    }
  }
  return all;
}

TEST_F(Capture, PrivateThingsStayBehind) {
  tests::UsbMadeMachine machine;
  machine.File("proc/sys/kernel/hostname", "stagepc\n");
  machine.File("etc/passwd", "kim:x:1000:1000::/home/kim:/bin/sh\n");
  machine.File("proc/cmdline", "root=/dev/mapper/stagepc-root\n");
  machine.File("proc/self/mountinfo",
               "1 0 253:0 / / rw - ext4 /dev/mapper/stagepc-root rw\n"
               "2 0 0:40 / /net rw - nfs4 fileserver:/kim rw,addr=192.0.2.7\n");
  machine.File("proc/net/route", "enx0a1b2c3d4e5f 00000000 0100A8C0 0003 0 0 0 00000000 0 0 0\n");
  const std::string link = "sys/devices/made/net/enx0a1b2c3d4e5f";
  machine.File(link + "/operstate", "up\n");
  machine.File(link + "/address", "0a:1b:2c:3d:4e:5f\n");
  machine.Link("sys/class/net/enx0a1b2c3d4e5f", link);
  machine.File("sys/devices/virtual/block/dm-0/dm/uuid", "CRYPT-LUKS2-secretid-stagepc\n");
  machine.File("sys/devices/virtual/block/dm-0/dm/name", "stagepc-root\n");
  machine.Link("sys/class/block/dm-0", "sys/devices/virtual/block/dm-0");
  ASSERT_TRUE(CaptureMachine(machine.root(), Archive()));
  const auto opened = OpenMachine(Archive());
  ASSERT_TRUE(opened) << opened.error().detail;
  const std::string all = AllTexts(opened->root.folder());
  for (const char* secret : {"stagepc", "kim", "fileserver", "192.0.2.7", "0a1b2c3d4e5f",
                             "0a:1b:2c:3d:4e:5f", "secretid", "0100A8C0"}) {
    EXPECT_THAT(all, Not(HasSubstr(secret)));
  }
  const auto inventory = TakeInventory(opened->root, {{"/"}});
  ASSERT_THAT(inventory.network.links, SizeIs(1));
  EXPECT_TRUE(inventory.network.links[0].default_route);
  ASSERT_THAT(inventory.storage[0].layers, SizeIs(1));
  EXPECT_EQ(inventory.storage[0].layers[0].kind, "crypt");
}

TEST_F(Capture, IntoAFolderThatIsMissingLeavesOneErrorAndNothingElse) {
  const auto summary =
      CaptureMachine(base::MachineRoot::Live(), folder_.path() / "no" / "x.tar.gz");
  ASSERT_FALSE(summary);
  EXPECT_THAT(summary.error().where, HasSubstr("x.tar.gz"));
  EXPECT_TRUE(std::filesystem::is_empty(folder_.path()));
}

TEST_F(Capture, RoomOnFilesystemsIsNoted) {
  const auto live = base::MachineRoot::Live();
  ASSERT_TRUE(CaptureMachine(live, Archive()));
  const auto opened = OpenMachine(Archive());
  ASSERT_TRUE(opened) << opened.error().detail;
  const auto text = opened->root.Read(probes::kCapturedSpaceFile);
  if (!text) {
    GTEST_SKIP() << "no filesystem of this PC lies on a device";
  }
  struct statvfs room {};
  for (const auto& space : probes::ParseCapturedSpace(*text)) {
    if (statvfs(space.mount_point.c_str(), &room) == 0) {
      EXPECT_EQ(space.size_bytes, static_cast<std::int64_t>(room.f_blocks * room.f_frsize));
    }
    const auto storage = probes::ReadStorage(opened->root, space.mount_point);
    EXPECT_EQ(storage.size_bytes, base::Reading<std::int64_t>(space.size_bytes));
    EXPECT_EQ(storage.free_bytes, base::Reading<std::int64_t>(space.free_bytes));
  }
}

TEST(CapturedSpace, TheLongestMountPointWins) {
  tests::UsbMadeMachine machine;
  machine.File("captured/filesystems",
               "1000 500 4096 1 /\n2000 700 512 0 /media/user/A B\nnonsense\n-1 0 0 0 /x\n"
               "1 2 3 4 relative\n");
  const auto find = [&](std::string_view folder) {
    const auto space = probes::FindCapturedSpace(machine.root(), folder);
    return space ? space->size_bytes : -1;
  };
  EXPECT_EQ(find("/srv"), 1000);
  EXPECT_EQ(find("/media/user/A B"), 2000);
  EXPECT_EQ(find("/media/user/A B/show"), 2000);
  EXPECT_EQ(find("/media/user/A Bc"), 1000);
  machine.Remove("captured");
  EXPECT_EQ(find("/srv"), -1);
}

TEST(CapturedSpace, ALineReadsBack) {
  const auto again =
      probes::ParseCapturedSpace(probes::CapturedSpaceLine({10, 5, 4, true, "/mnt/two words"}));
  ASSERT_THAT(again, SizeIs(1));
  EXPECT_EQ(again[0].size_bytes, 10);
  EXPECT_EQ(again[0].free_bytes, 5);
  EXPECT_EQ(again[0].block_bytes, 4);
  EXPECT_TRUE(again[0].writable);
  EXPECT_EQ(again[0].mount_point, "/mnt/two words");
  EXPECT_EQ(probes::CapturedSpaceLine({10, 5, 4, true, "/mnt/two\nlines"}), "");
}

TEST(TakeInventory, TimesEveryProbe) {
  tests::UsbMadeMachine machine;
  const auto open_codecs = [](const std::stop_token&) {
    ADD_FAILURE() << "codecs of this PC say nothing of another";
    return probes::CodecInventory{};
  };
  const auto inventory = TakeInventory(machine.root(), {{"/"}, open_codecs});
  ASSERT_THAT(inventory.runs, SizeIs(11));
  for (const auto& run : inventory.runs) {
    EXPECT_EQ(run.failure, "") << run.probe;
    EXPECT_GE(run.seconds, 0);
  }
  EXPECT_FALSE(inventory.live);
  EXPECT_EQ(inventory.codecs.tried.why_unknown(),
            "a captured machine's encoders cannot be opened here");
}

TEST(TakeInventory, CodecsOfThisPcAreLeftAloneWhenNotAskedFor) {
  const auto inventory = TakeInventory(base::MachineRoot::Live(), {});
  EXPECT_TRUE(inventory.live);
  EXPECT_EQ(inventory.machine_root, "/");
  EXPECT_EQ(inventory.codecs.tried.why_unknown(),
            "not opened (rigproof inventory --open-codecs opens each)");
  EXPECT_THAT(inventory.storage, IsEmpty());
}

}  // namespace
