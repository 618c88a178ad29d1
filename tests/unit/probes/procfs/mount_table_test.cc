// SPDX-License-Identifier: Apache-2.0

#include "probes/procfs/mount_table.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace {

using probes::FindMount;
using probes::OptionsOf;
using probes::ParseMountInfo;
using probes::UndoOctalEscapes;

// The example line of https://docs.kernel.org/filesystems/proc.html, section 3.5.
constexpr const char* kDocumented =
    "36 35 98:0 /mnt1 /mnt2 rw,noatime master:1 - ext3 /dev/root rw,errors=continue\n";

TEST(ParseMountInfo, ReadsTheDocumentedLine) {
  const auto mounts = ParseMountInfo(kDocumented);
  ASSERT_EQ(mounts.size(), 1U);
  EXPECT_EQ(mounts[0].id, 36);
  EXPECT_EQ(mounts[0].parent, 35);
  EXPECT_EQ(mounts[0].major, 98);
  EXPECT_EQ(mounts[0].minor, 0);
  EXPECT_EQ(mounts[0].root, "/mnt1");
  EXPECT_EQ(mounts[0].mount_point, "/mnt2");
  EXPECT_EQ(mounts[0].options, "rw,noatime");
  EXPECT_EQ(mounts[0].filesystem, "ext3");
  EXPECT_EQ(mounts[0].source, "/dev/root");
  EXPECT_EQ(mounts[0].super_options, "rw,errors=continue");
}

TEST(ParseMountInfo, TakesAnyNumberOfOptionalFields) {
  const auto none = ParseMountInfo("1 2 8:1 / / rw - ext4 /dev/sda1 rw");
  const auto two = ParseMountInfo("1 2 8:1 / / rw shared:1 master:2 - ext4 /dev/sda1 rw");
  ASSERT_EQ(none.size(), 1U);
  ASSERT_EQ(two.size(), 1U);
  EXPECT_EQ(none[0].source, "/dev/sda1");
  EXPECT_EQ(two[0].source, "/dev/sda1");
}

TEST(ParseMountInfo, PassesOverWhatIsMalformed) {
  EXPECT_TRUE(ParseMountInfo("").empty());
  EXPECT_TRUE(ParseMountInfo("36 35 98:0 /mnt1 /mnt2 rw").empty());
  EXPECT_TRUE(ParseMountInfo("36 35 980 / / rw - ext3 /dev/root rw").empty());
  EXPECT_TRUE(ParseMountInfo("x y 98:0 / / rw - ext3 /dev/root rw").empty());
  EXPECT_TRUE(ParseMountInfo("- - - - - - - - -").empty());
  EXPECT_EQ(ParseMountInfo(std::string("junk\n") + kDocumented + "36 35").size(), 1U);
}

TEST(UndoOctalEscapes, GivesBackSpaceTabNewlineBackslash) {
  EXPECT_EQ(UndoOctalEscapes(R"(/media/two\040words)"), "/media/two words");
  EXPECT_EQ(UndoOctalEscapes(R"(a\011b\012c\134d)"), "a\tb\nc\\d");
  EXPECT_EQ(UndoOctalEscapes(R"(\040)"), " ");
}

TEST(UndoOctalEscapes, LeavesWhatIsNoEscape) {
  EXPECT_EQ(UndoOctalEscapes(R"(a\04)"), R"(a\04)");
  EXPECT_EQ(UndoOctalEscapes(R"(a\089b)"), R"(a\089b)");
  EXPECT_EQ(UndoOctalEscapes(R"(\777)"), R"(\777)");
  EXPECT_EQ(UndoOctalEscapes("\\"), "\\");
}

TEST(FindMount, TakesTheLongestPointAboveAndTheLastThere) {
  const auto mounts = ParseMountInfo(
      "1 0 8:1 / / rw - ext4 /dev/sda1 rw\n"
      "2 1 8:2 / /media rw - ext4 /dev/sda2 rw\n"
      "3 1 8:3 / /media/card rw - vfat /dev/sdb1 rw\n"
      "4 3 8:4 / /media/card rw - exfat /dev/sdc1 rw\n");
  EXPECT_EQ(FindMount(mounts, "/media/card/clips")->id, 4);
  EXPECT_EQ(FindMount(mounts, "/media/card")->id, 4);
  EXPECT_EQ(FindMount(mounts, "/media/cards")->id, 2);  // not below /media/card
  EXPECT_EQ(FindMount(mounts, "/home")->id, 1);
}

TEST(FindMount, BelievesTheIdWhereItIsListed) {
  const auto mounts = ParseMountInfo(
      "1 0 8:1 / / rw - ext4 /dev/sda1 rw\n"
      "3 1 8:3 / /media rw - vfat /dev/sdb1 rw\n");
  EXPECT_EQ(FindMount(mounts, "/media", 1)->id, 1);
  EXPECT_EQ(FindMount(mounts, "/media", 99)->id, 3);
  EXPECT_EQ(FindMount({}, "/media"), nullptr);
}

TEST(OptionsOf, ShowNoValuesThatMayNameSomebody) {
  const auto mounts = ParseMountInfo(
      "1 0 0:9 / /a rw,noatime - cifs //s/x "
      "rw,username=kim,domain=D,addr=192.0.2.7,errors=continue\n");
  EXPECT_THAT(OptionsOf(mounts[0]), testing::ElementsAre("rw", "noatime", "username", "domain",
                                                         "addr", "errors=continue"));
}

TEST(OctalEscapes, AreUndoneAgain) {
  for (const char* const text : {"", "a b", "a\tb\n\\", "\\040", "plain"}) {
    EXPECT_EQ(probes::UndoOctalEscapes(probes::OctalEscapes(text)), text);
  }
  EXPECT_EQ(probes::OctalEscapes("a b"), "a\\040b");
}

TEST(OptionsOf, JoinsMountAndFilesystemOnce) {
  const auto mounts = ParseMountInfo("1 0 8:1 / / rw,noatime - ext4 /dev/sda1 rw,discard");
  EXPECT_THAT(OptionsOf(mounts[0]), testing::ElementsAre("rw", "noatime", "discard"));
}

}  // namespace
