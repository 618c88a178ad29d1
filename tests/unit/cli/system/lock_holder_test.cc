// SPDX-License-Identifier: Apache-2.0
//
// Who holds a lock, read from what the kernel writes: fs/locks.c, lock_get_status(), and proc(5).

#include "cli/system/lock_holder.h"

#include <string>
#include <string_view>

#include <gtest/gtest.h>

namespace cli {
namespace {

constexpr std::string_view kLocks =
    "1: POSIX  ADVISORY  WRITE 900 fe:00:1095 0 EOF\n"
    "2: FLOCK  ADVISORY  WRITE 848 fe:0a:1095 0 EOF\n"
    "3: FLOCK  ADVISORY  WRITE 849 fe:00:1096 0 EOF\n"
    "4: FLOCK  ADVISORY  WRITE 850 fe:00:1095 0 EOF\n"
    "4: -> FLOCK  ADVISORY  WRITE 851 fe:00:1095 0 EOF\n";

TEST(FlockHolder, IsOfThatFileAndHasTheLock) {
  EXPECT_EQ(FlockHolder(kLocks, {0xfe, 0, 1095}), 850);
  EXPECT_EQ(FlockHolder(kLocks, {0xfe, 0xa, 1095}), 848);
  EXPECT_EQ(FlockHolder(kLocks, {0xfe, 0, 1097}), std::nullopt);
}

TEST(FlockHolder, KnowsNobodyInWhatIsNoTable) {
  // Pid 0: a process that cannot be seen from here.
  for (const std::string_view text :
       {"", "\n\n", "1: FLOCK", "1: FLOCK  ADVISORY  WRITE 0 fe:00:1095 0 EOF",
        "1: FLOCK  ADVISORY  WRITE x fe:00:1095 0 EOF",
        "1: FLOCK  ADVISORY  WRITE 7 fe:00 0 EOF"}) {
    EXPECT_EQ(FlockHolder(text, {0xfe, 0, 1095}), std::nullopt) << text;
  }
}

TEST(BeganAt, CountsFromTheKernelsBeginning) {
  const std::string stat =
      "848 (a) b (c) S 1 848 848 0 -1 4194304 1 2 3 4 5 6 7 8 20 0 1 0 12345 100 200 300\n";
  const std::string_view kernel = "cpu 1 2 3\nbtime 1700000000\nprocesses 5\n";
  EXPECT_EQ(BeganAt(stat, kernel, 100), 1700000123);
  EXPECT_EQ(BeganAt(stat, "cpu 1 2 3\n", 100), std::nullopt);
  EXPECT_EQ(BeganAt("848 (a) S 1", kernel, 100), std::nullopt);
  EXPECT_EQ(BeganAt("", kernel, 100), std::nullopt);
  EXPECT_EQ(BeganAt(stat, kernel, 0), std::nullopt);
}

TEST(CommandOf, TellsTheCommandAndNothingPrivate) {
  using std::string_literals::operator""s;
  EXPECT_EQ(CommandOf("/usr/libexec/rigproof/rigproof-media\0--quiet\0qualify\0secret.json\0"s),
            "rigproof qualify");
  EXPECT_EQ(CommandOf("rigproof\0line-check\0"s), "rigproof line-check");
  EXPECT_EQ(CommandOf("/opt/other\0qualify\0secret\0"s), "other");
  EXPECT_EQ(CommandOf("\x1b[2J\0"s).find('\x1b'), std::string::npos);
  EXPECT_EQ(CommandOf(""), "a program");
}

}  // namespace
}  // namespace cli
