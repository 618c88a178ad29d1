// SPDX-License-Identifier: Apache-2.0

#include "probes/storage/storage.h"

#include <fcntl.h>
#include <sys/statvfs.h>
#include <unistd.h>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/captured/open_machine.h"
#include "probes/storage/block_layers.h"
#include "probes/storage/filesystem_limits.h"
#include "tests/support/usb_made_machine.h"

namespace {

using base::Reading;
using probes::KindOfDeviceMapper;
using probes::LargestFileBytes;
using probes::ReadStorage;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

const Reading<std::int64_t> kBlock4096{4096};
const auto kNoBlock = Reading<std::int64_t>::Unknown("not asked");

TEST(LargestFileBytes, FatCountsIn32Bits) {
  // shared facts S006: Linux fs/fat/inode.c, s_maxbytes = 0xffffffff.
  EXPECT_EQ(LargestFileBytes("vfat", kNoBlock), Reading<std::int64_t>(4294967295));
}

TEST(LargestFileBytes, Ext4CountsBlocks) {
  // Linux Documentation/filesystems/ext4/blocks.rst and fs/ext4/super.c: (2^32 - 1) blocks;
  // 4 TiB at 1 KiB blocks, 16 TiB at 4 KiB blocks, each less one block.
  EXPECT_EQ(LargestFileBytes("ext4", kBlock4096), Reading<std::int64_t>(17592186040320));
  EXPECT_EQ(*LargestFileBytes("ext4", 1024) + 1024, std::int64_t{4} << 40);
  EXPECT_THAT(LargestFileBytes("ext4", kNoBlock).why_unknown(), HasSubstr("not asked"));
}

TEST(LargestFileBytes, Ext3FollowsTheKernelsTable) {
  // https://docs.kernel.org/filesystems/ext2.html: 16 GB, 256 GB, 2048 GB.
  EXPECT_EQ(*LargestFileBytes("ext3", 1024), std::int64_t{16} << 30);
  EXPECT_EQ(*LargestFileBytes("ext3", 2048), std::int64_t{256} << 30);
  EXPECT_EQ(*LargestFileBytes("ext3", 4096), std::int64_t{2048} << 30);
}

TEST(LargestFileBytes, UnknownFilesystemsAndBlocksStayUnknown) {
  EXPECT_FALSE(LargestFileBytes("fuseblk", kBlock4096));
  EXPECT_FALSE(LargestFileBytes("", kBlock4096));
  EXPECT_FALSE(LargestFileBytes("ext4", std::int64_t{0}));
  EXPECT_FALSE(LargestFileBytes("ext4", std::int64_t{-4096}));
  EXPECT_FALSE(LargestFileBytes("ext4", INT64_MAX));
  EXPECT_FALSE(LargestFileBytes("ext3", std::int64_t{512}));
}

TEST(KindOfDeviceMapper, ReadsThePrefix) {
  EXPECT_EQ(KindOfDeviceMapper("CRYPT-LUKS2-0123-card"), "crypt");
  EXPECT_EQ(KindOfDeviceMapper("LVM-abcdef"), "lvm");
  EXPECT_EQ(KindOfDeviceMapper("mpath-3600"), "multipath");
  EXPECT_EQ(KindOfDeviceMapper("part1-mpath-3600"), "partition");
  EXPECT_EQ(KindOfDeviceMapper(""), "virtual");
}

/// A block device of a made machine: its folder, size and class link.
void AddBlock(tests::UsbMadeMachine& machine, const std::string& name, const std::string& folder,
              int sectors) {
  machine.File(folder + "/size", std::to_string(sectors) + "\n");
  machine.Link("sys/class/block/" + name, folder);
}

/// Mount -> logical volume -> LUKS -> partition -> disk on USB.
void AddEncryptedUsbDisk(tests::UsbMadeMachine& machine) {
  const std::string disk =
      "sys/devices/pci0000:00/0000:00:14.0/usb2/2-3/2-3:1.0/host6/target6:0:0/6:0:0:0/block/sdb";
  AddBlock(machine, "sdb", disk, 2000);
  machine.File(disk + "/queue/rotational", "1\n");
  machine.File(disk + "/device/model", "Made Disk \n");
  AddBlock(machine, "sdb1", disk + "/sdb1", 1000);
  machine.File(disk + "/sdb1/partition", "1\n");
  AddBlock(machine, "dm-0", "sys/devices/virtual/block/dm-0", 990);
  machine.File("sys/devices/virtual/block/dm-0/dm/uuid", "CRYPT-LUKS2-0123-made\n");
  machine.Link("sys/devices/virtual/block/dm-0/slaves/sdb1", disk + "/sdb1");
  AddBlock(machine, "dm-1", "sys/devices/virtual/block/dm-1", 980);
  machine.File("sys/devices/virtual/block/dm-1/dm/uuid", "LVM-made\n");
  machine.File("sys/devices/virtual/block/dm-1/dm/name", "made-clips\n");
  machine.Link("sys/devices/virtual/block/dm-1/slaves/dm-0", "sys/devices/virtual/block/dm-0");
  machine.Link("sys/dev/block/253:1", "sys/devices/virtual/block/dm-1");
}

TEST(ReadStorage, GoesThroughVolumeEncryptionAndPartitionToTheDisk) {
  tests::UsbMadeMachine machine;
  AddEncryptedUsbDisk(machine);
  machine.File("proc/self/mountinfo",
               "1 0 253:1 / /media/two\\040words rw,noatime - xfs /dev/mapper/made-clips rw\n");
  const auto storage = ReadStorage(machine.root(), "/media/two words/clips/");
  EXPECT_EQ(storage.mount_point, Reading<std::string>("/media/two words"));
  EXPECT_EQ(storage.filesystem, Reading<std::string>("xfs"));
  EXPECT_THAT(*storage.mount_options, ElementsAre("rw", "noatime"));
  ASSERT_THAT(storage.layers, SizeIs(4));
  EXPECT_EQ(storage.layers[0].kind, "lvm");
  EXPECT_EQ(storage.layers[1].kind, "crypt");
  EXPECT_EQ(storage.layers[2].kind, "partition");
  const probes::BlockLayer& disk = storage.layers[3];
  EXPECT_EQ(disk.kind, "disk");
  EXPECT_EQ(disk.name, "sdb");
  EXPECT_EQ(disk.model, "Made Disk");
  EXPECT_EQ(disk.transport, Reading<std::string>("usb"));
  EXPECT_EQ(disk.rotational, Reading<bool>(true));
  EXPECT_EQ(disk.size_bytes, Reading<std::int64_t>(1024000));
  EXPECT_EQ(disk.usb_path, "2-3");
  EXPECT_EQ(disk.pci_address, "0000:00:14.0");
  EXPECT_EQ(storage.why_no_layers, "");
  EXPECT_FALSE(storage.free_bytes);
  EXPECT_FALSE(storage.writable);
}

TEST(ReadStorage, FindsAMappedDeviceByItsNameWhenTheNumberIsAnonymous) {
  tests::UsbMadeMachine machine;
  AddEncryptedUsbDisk(machine);
  // A btrfs subvolume: anonymous device number, the source tells.
  machine.File("proc/self/mountinfo",
               "1 0 0:45 /@clips /clips rw - btrfs /dev/mapper/made-clips rw,subvol=/@clips\n");
  const auto storage = ReadStorage(machine.root(), "/clips");
  EXPECT_THAT(storage.layers, SizeIs(4));
  EXPECT_EQ(storage.largest_file_bytes, Reading<std::int64_t>(INT64_MAX));
}

// One btrfs at two places has two anonymous numbers; two ext4 have two of their own.
TEST(ReadStorage, TellsWhetherTwoFoldersShareTheirSpace) {
  tests::UsbMadeMachine machine;
  machine.File("proc/self/mountinfo",
               "1 0 8:1 / / rw - ext4 /dev/sda1 rw\n"
               "2 1 8:2 / /a rw - ext4 /dev/sda2 rw\n"
               "3 1 8:2 /inside /b rw - ext4 /dev/sda2 rw\n"
               "4 1 0:45 /@x /c rw - btrfs /dev/sdb1 rw\n"
               "5 1 0:46 /@y /d rw - btrfs /dev/sdc1 rw\n"
               "6 1 0:50 / /e rw - zfs pool/one rw\n"
               "7 1 0:51 / /f rw - zfs pool/two rw\n");
  machine.Folder("sys/fs/btrfs/0000/devices/sdb1");
  machine.Folder("sys/fs/btrfs/0000/devices/sdc1");
  const auto id = [&](const char* folder) {
    return *ReadStorage(machine.root(), folder).filesystem_id;
  };
  EXPECT_EQ(id("/a"), id("/b"));
  EXPECT_NE(id("/a"), id("/"));
  EXPECT_EQ(id("/c"), id("/d"));
  EXPECT_EQ(id("/e"), id("/f"));
  EXPECT_NE(id("/c"), id("/e"));
}

TEST(ReadStorage, TellsSoOfThisPcsFoldersToo) {
  const auto live = base::MachineRoot::Live();
  const auto id = [&](const std::filesystem::path& folder) {
    return ReadStorage(live, folder).filesystem_id;
  };
  ASSERT_TRUE(id(".")) << id(".").why_unknown();
  EXPECT_EQ(*id("."), *id(std::filesystem::current_path()));
  EXPECT_NE(*id("."), *id("/proc"));
  EXPECT_FALSE(id("/no/such/folder").known());
}

TEST(ReadStorage, AnEndlessLoopOfLayersEnds) {
  tests::UsbMadeMachine machine;
  for (const char* name : {"dm-0", "dm-1"}) {
    const std::string folder = std::string("sys/devices/virtual/block/") + name;
    AddBlock(machine, name, folder, 8);
    machine.File(folder + "/dm/uuid", "LVM-made\n");
  }
  machine.Link("sys/devices/virtual/block/dm-0/slaves/dm-1", "sys/devices/virtual/block/dm-1");
  machine.Link("sys/devices/virtual/block/dm-1/slaves/dm-0", "sys/devices/virtual/block/dm-0");
  machine.File("proc/self/mountinfo", "1 0 0:9 / / rw - ext4 /dev/dm-0 rw\n");
  EXPECT_THAT(ReadStorage(machine.root(), "/").layers, SizeIs(2));
}

TEST(ReadStorage, ALoopDeviceLeadsToTheMountOfItsFile) {
  tests::UsbMadeMachine machine;
  AddEncryptedUsbDisk(machine);
  AddBlock(machine, "loop0", "sys/devices/virtual/block/loop0", 64);
  machine.File("sys/devices/virtual/block/loop0/loop/backing_file", "/media/card/image.raw\n");
  machine.File("proc/self/mountinfo",
               "1 0 253:1 / /media/card rw - xfs /dev/mapper/made-clips rw\n"
               "2 0 7:0 / /mnt rw - ext4 /dev/loop0 rw\n");
  const auto storage = ReadStorage(machine.root(), "/mnt");
  ASSERT_THAT(storage.layers, SizeIs(5));
  EXPECT_EQ(storage.layers.front().kind, "loop");
  EXPECT_EQ(storage.layers.back().usb_path, "2-3");
}

TEST(ReadStorage, AnNvmeNamespaceUnderASubsystemHangsOnItsController) {
  tests::UsbMadeMachine machine;
  const std::string space = "sys/devices/virtual/nvme-subsystem/nvme-subsys0/nvme0n1";
  const std::string controller = "sys/devices/pci0000:00/0000:00:06.0/0000:01:00.0/nvme/nvme0";
  AddBlock(machine, "nvme0n1", space, 4096);
  AddBlock(machine, "nvme0n1p1", space + "/nvme0n1p1", 2048);
  machine.File(space + "/nvme0n1p1/partition", "1\n");
  machine.File(controller + "/transport", "pcie\n");
  machine.Link("sys/devices/virtual/nvme-subsystem/nvme-subsys0/nvme0", controller);
  machine.File("proc/self/mountinfo", "1 0 259:1 / / rw - ext4 /dev/nvme0n1p1 rw\n");
  const auto storage = ReadStorage(machine.root(), "/");
  ASSERT_THAT(storage.layers, SizeIs(2));
  EXPECT_EQ(storage.layers[1].transport, Reading<std::string>("nvme"));
  EXPECT_EQ(storage.layers[1].pci_address, "0000:01:00.0");
  EXPECT_EQ(storage.layers[0].pci_address, "0000:01:00.0");
}

TEST(ReadStorage, ARaidHasAllItsDisks) {
  tests::UsbMadeMachine machine;
  AddBlock(machine, "md0", "sys/devices/virtual/block/md0", 100);
  machine.Folder("sys/devices/virtual/block/md0/md");
  for (const char* name : {"sda", "sdc"}) {
    const std::string folder = std::string("sys/devices/pci0000:00/0000:00:17.0/ata1/host0/") +
                               "target0:0:0/0:0:0:0/block/" + name;
    AddBlock(machine, name, folder, 100);
    machine.Link(std::string("sys/devices/virtual/block/md0/slaves/") + name, folder);
  }
  machine.File("proc/self/mountinfo", "1 0 9:0 / / rw - ext4 /dev/md0 rw\n");
  const auto storage = ReadStorage(machine.root(), "/");
  ASSERT_THAT(storage.layers, SizeIs(3));
  EXPECT_EQ(storage.layers[0].kind, "raid");
  EXPECT_EQ(storage.layers[1].transport, Reading<std::string>("sata"));
  EXPECT_EQ(storage.layers[2].name, "sdc");
}

TEST(ReadStorage, ABtrfsHasAllItsDisks) {
  tests::UsbMadeMachine machine;
  for (const char* name : {"sda", "sdc", "sdx"}) {
    AddBlock(machine, name, std::string("sys/devices/made/block/") + name, 100);
  }
  machine.Link("sys/fs/btrfs/0123/devices/sda", "sys/devices/made/block/sda");
  machine.Link("sys/fs/btrfs/0123/devices/sdc", "sys/devices/made/block/sdc");
  machine.Link("sys/fs/btrfs/4567/devices/sdx", "sys/devices/made/block/sdx");
  machine.Folder("sys/fs/btrfs/features");
  machine.File("proc/self/mountinfo", "1 0 0:45 /@ / rw - btrfs /dev/sda rw,subvol=/@\n");
  const auto storage = ReadStorage(machine.root(), "/");
  ASSERT_THAT(storage.layers, SizeIs(2));
  EXPECT_EQ(storage.layers[0].name, "sda");
  EXPECT_EQ(storage.layers[1].name, "sdc");
  EXPECT_EQ(storage.why_no_layers, "");
}

TEST(ReadStorage, WhatHasNoDiskSaysWhy) {
  tests::UsbMadeMachine machine;
  machine.File("proc/self/mountinfo",
               "1 0 0:40 / /net rw - nfs4 server:/export rw\n"
               "2 0 0:41 / /over rw - overlay overlay rw,upperdir=/not/here,workdir=/w\n"
               "3 0 0:42 / /ro ro - tmpfs tmpfs rw\n");
  const auto share = ReadStorage(machine.root(), "/net");
  EXPECT_THAT(share.layers, IsEmpty());
  EXPECT_EQ(share.why_no_layers, "nfs4 names no disk");
  EXPECT_THAT(ReadStorage(machine.root(), "/over").why_no_layers, HasSubstr("/not/here"));
  EXPECT_EQ(ReadStorage(machine.root(), "/ro/x").writable, Reading<bool>(false));
  EXPECT_THAT(ReadStorage(machine.root(), "/else").mount_point.why_unknown(),
              HasSubstr("no mount above"));
}

// A chroot whose top is no mount: nothing is shown above, and the filesystem tells its room.
TEST(ReadStorage, RoomIsKnownWhereNoMountIsShown) {
  tests::UsbMadeMachine machine;
  machine.File("captured/filesystems", "1000 500 4096 1 /\n");
  for (const bool readable : {true, false}) {
    machine.Remove("proc");
    if (readable) {
      machine.File("proc/self/mountinfo", "2 1 0:41 / /proc rw - proc proc rw\n");
    }
    const auto storage = ReadStorage(machine.root(), "/recordings");
    EXPECT_EQ(storage.free_bytes, Reading<std::int64_t>(500));
    EXPECT_EQ(storage.size_bytes, Reading<std::int64_t>(1000));
    EXPECT_EQ(storage.writable, Reading<bool>(true));
    EXPECT_FALSE(storage.mount_point);
    EXPECT_NE(storage.why_no_layers, "");
  }
}

TEST(ReadStorage, RoomOfThisPcComesFromTheFilesystem) {
  const auto folder = probes::TemporaryFolder::Make();
  ASSERT_TRUE(folder);
  struct statvfs room {};
  ASSERT_EQ(statvfs(folder->path().c_str(), &room), 0);
  const auto storage = ReadStorage(base::MachineRoot::Live(), folder->path());
  EXPECT_EQ(storage.size_bytes,
            Reading<std::int64_t>(static_cast<std::int64_t>(room.f_blocks * room.f_frsize)));
}

TEST(ReadStorage, AMachineWithoutMountsIsUnknown) {
  tests::UsbMadeMachine machine;
  const auto storage = ReadStorage(machine.root(), "/");
  EXPECT_THAT(storage.filesystem.why_unknown(), HasSubstr("mountinfo"));
}

TEST(ReadStorage, AFolderThatIsMissingOnThisPcIsNamed) {
  const auto storage = ReadStorage(base::MachineRoot::Live(), "/nowhere/at/all");
  EXPECT_THAT(storage.mount_point.why_unknown(), HasSubstr("/nowhere/at/all"));
}

TEST(ReadStorage, TheLimitIsTheOneThatTheKernelKeeps) {
  const auto folder = probes::TemporaryFolder::Make();
  ASSERT_TRUE(folder);
  const auto storage = ReadStorage(base::MachineRoot::Live(), folder->path());
  if (!storage.largest_file_bytes || *storage.largest_file_bytes == INT64_MAX) {
    GTEST_SKIP() << "no limit below the kernel's own on "
                 << storage.filesystem.value_or("this filesystem");
  }
  const std::string file = (folder->path() / "sparse").string();
  const int descriptor = open(file.c_str(), O_CREAT | O_RDWR | O_CLOEXEC, 0600);
  ASSERT_GE(descriptor, 0);
  EXPECT_EQ(ftruncate(descriptor, *storage.largest_file_bytes), 0);
  EXPECT_NE(ftruncate(descriptor, *storage.largest_file_bytes + 1), 0);
  close(descriptor);
}

}  // namespace
