// SPDX-License-Identifier: Apache-2.0

#include "base/system/machine_root.h"

#include <sys/stat.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace {

namespace fs = std::filesystem;
using testing::ElementsAre;

/// A captured machine in machine/, and a secret beside it.
class MachineRootTest : public testing::Test {
 protected:
  MachineRootTest() {
    std::string name = testing::TempDir() + "rigproof_root_XXXXXX";
    outside_ = mkdtemp(name.data());
    folder_ = outside_ / "machine";
    Write("../secret", "outside");
    Write("sys/class/net/eth0/speed", "1000\n");
    Write("proc/stat", "cpu 1 2 3\n");
  }
  ~MachineRootTest() override { fs::remove_all(outside_); }

  void Write(const std::string& path, const std::string& text) const {
    fs::create_directories((folder_ / path).parent_path());
    std::ofstream(folder_ / path) << text;
  }
  void Link(const std::string& path, const fs::path& target) const {
    fs::create_directories((folder_ / path).parent_path());
    fs::create_symlink(target, folder_ / path);
  }
  base::MachineRoot Root() const { return *base::MachineRoot::At(folder_); }

  fs::path outside_;
  fs::path folder_;
};

TEST_F(MachineRootTest, RefusesFoldersThatAreNoMachine) {
  for (const fs::path& folder : {outside_, folder_ / "none", folder_ / "proc/stat"}) {
    const auto root = base::MachineRoot::At(folder);
    ASSERT_FALSE(root) << folder;
    EXPECT_EQ(root.error().kind, base::ErrorKind::kInvalid);
  }
}

TEST_F(MachineRootTest, ReadsWithAndWithoutTheLeadingSlash) {
  const auto root = Root();
  EXPECT_FALSE(root.live());
  EXPECT_EQ(*root.Read("/proc/stat"), "cpu 1 2 3\n");
  EXPECT_EQ(*root.ReadTrimmed("proc/stat"), "cpu 1 2 3");
  EXPECT_EQ(*root.ReadInt("/sys/class/net/eth0/speed"), 1000);
}

TEST_F(MachineRootTest, SaysWhyAFileGivesNothing) {
  Write("sys/word", "fast\x1b[31m\n");
  const auto root = Root();
  EXPECT_EQ(root.Read("/sys/none").error().kind, base::ErrorKind::kNotPresent);
  EXPECT_EQ(root.Read("/sys/word", 3).error().kind, base::ErrorKind::kMalformed);
  const auto number = root.ReadInt("/sys/word");
  EXPECT_EQ(number.error().kind, base::ErrorKind::kMalformed);
  EXPECT_EQ(number.error().detail.find('\x1b'), std::string::npos);
  EXPECT_FALSE(root.Read("/sys/class"));
  EXPECT_EQ(root.Read(std::string("/sys\0/word", 10)).error().kind, base::ErrorKind::kInvalid);
}

TEST_F(MachineRootTest, NeverWaitsForAPipePlantedInATree) {
  ASSERT_EQ(mkfifo((folder_ / "sys/pipe").c_str(), 0600), 0);
  EXPECT_EQ(Root().Read("/sys/pipe").error().kind, base::ErrorKind::kUnsupported);
}

TEST_F(MachineRootTest, DotsStopAtTheTop) {
  const auto root = Root();
  EXPECT_FALSE(root.Read("../secret"));
  EXPECT_FALSE(root.Read("/sys/../../secret"));
  EXPECT_FALSE(root.Exists("/../secret"));
  EXPECT_EQ(*root.Read("/../../../proc/stat"), "cpu 1 2 3\n");
}

TEST_F(MachineRootTest, RelativeLinksOutsideLeadNowhere) {
  Link("sys/escape", "../../secret");
  Link("sys/folder", "../..");
  const auto root = Root();
  EXPECT_FALSE(root.Read("/sys/escape"));
  EXPECT_FALSE(root.Read("/sys/folder/secret"));
  EXPECT_FALSE(root.Resolve("/sys/escape"));
}

TEST_F(MachineRootTest, AbsoluteLinksStartAtTheMachine) {
  Link("sys/stat", "/proc/stat");
  Link("sys/escape", outside_ / "secret");
  Link("sys/top", "/");
  const auto root = Root();
  EXPECT_EQ(*root.Read("/sys/stat"), "cpu 1 2 3\n");
  EXPECT_EQ(*root.Resolve("/sys/stat"), "/proc/stat");
  EXPECT_FALSE(root.Read("/sys/escape"));
  EXPECT_EQ(*root.Read("/sys/top/proc/stat"), "cpu 1 2 3\n");
}

TEST_F(MachineRootTest, LinksInTheMiddleOfAPathAreConfinedToo) {
  Link("sys/a", "../../..");
  EXPECT_FALSE(Root().Exists("/sys/a/" + outside_.filename().string() + "/secret"));
}

TEST_F(MachineRootTest, EndsAtLoops) {
  Link("sys/a", "b");
  Link("sys/b", "a");
  Link("sys/self", "self/deeper");
  const auto root = Root();
  EXPECT_EQ(root.Read("/sys/a").error().kind, base::ErrorKind::kMalformed);
  EXPECT_EQ(root.Read("/sys/self").error().kind, base::ErrorKind::kMalformed);
  EXPECT_FALSE(root.List("/sys/a"));
  EXPECT_FALSE(root.Exists("/sys/a"));
}

TEST_F(MachineRootTest, ResolvesAsTheKernelsLinksAreWritten) {
  Write("sys/devices/pci0000:00/usb1/1-2/speed", "480\n");
  Link("sys/bus/usb/devices/1-2", "../../../devices/pci0000:00/usb1/1-2");
  EXPECT_EQ(*Root().Resolve("/sys/bus/usb/devices/1-2"), "/sys/devices/pci0000:00/usb1/1-2");
  EXPECT_EQ(*Root().ReadInt("/sys/bus/usb/devices/1-2/speed"), 480);
}

TEST_F(MachineRootTest, GivesWhatALinkSaysWithoutFollowingIt) {
  Link("proc/7/fd/3", "anon_inode:[fanotify]");
  Link("proc/self", "7");
  Link("away", outside_);
  const auto root = Root();
  EXPECT_EQ(*root.LinkText("/proc/7/fd/3"), "anon_inode:[fanotify]");
  EXPECT_EQ(*root.LinkText("/proc/self/fd/3"), "anon_inode:[fanotify]");
  EXPECT_EQ(*root.LinkText("/proc/self"), "7");
  EXPECT_EQ(root.LinkText("/proc/stat").error().kind, base::ErrorKind::kUnsupported);
  EXPECT_EQ(root.LinkText("/away/secret").error().kind, base::ErrorKind::kNotPresent);
}

TEST_F(MachineRootTest, ListsInNaturalOrder) {
  for (const char* name : {"usb10", "usb2", "usb1", "hub", "1-2.10", "1-2.9"}) {
    Write(std::string("sys/bus/") + name, "");
  }
  EXPECT_THAT(*Root().List("/sys/bus"),
              ElementsAre("1-2.9", "1-2.10", "hub", "usb1", "usb2", "usb10"));
  EXPECT_EQ(Root().List("/sys/none").error().kind, base::ErrorKind::kNotPresent);
}

TEST_F(MachineRootTest, TellsWhatWasReached) {
  auto root = Root();
  std::vector<std::string> seen;
  root.OnAccess([&](std::string_view path) { seen.emplace_back(path); });
  EXPECT_TRUE(root.Read("/proc/stat"));
  EXPECT_TRUE(root.List("/sys/class"));
  EXPECT_THAT(seen, ElementsAre("/proc/stat", "/sys/class"));
}

TEST(LiveMachineRoot, ReadsThisPc) {
  const auto root = base::MachineRoot::Live();
  EXPECT_TRUE(root.live());
  EXPECT_TRUE(root.Exists("/proc/self/stat"));
}

}  // namespace
