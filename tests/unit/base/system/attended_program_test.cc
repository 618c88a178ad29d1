// SPDX-License-Identifier: Apache-2.0
//
// A program beside this one: its lines, its end, and the orderly stop.

#include "base/system/attended_program.h"

#include <signal.h>

#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace base {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

AttendedProgram Shell(const std::string& script) {
  return {{"/bin/sh", "-c", script}};
}

TEST(RunAttended, HandsOverEachLineAndTheStatus) {
  std::vector<std::string> lines;
  const auto end =
      RunAttended(Shell("echo unseen; echo one >&2; printf 'two\\n\\nthree' >&2; exit 5"), {},
                  [&](std::string_view line) { lines.emplace_back(line); });
  ASSERT_TRUE(end.has_value());
  EXPECT_EQ(end->exit_status, 5);
  EXPECT_EQ(end->signal, 0);
  EXPECT_THAT(lines, ElementsAre("one", "two", "three"));
}

TEST(RunAttended, AStopIsASignalThatItMayAnswer) {
  std::stop_source stop;
  std::vector<std::string> lines;
  const auto end = RunAttended(
      Shell("trap 'echo kept >&2; exit 3' TERM; echo begun >&2; while :; do sleep 0.01; done"),
      stop.get_token(), [&](std::string_view line) {
        lines.emplace_back(line);
        stop.request_stop();
      });
  ASSERT_TRUE(end.has_value());
  EXPECT_EQ(end->exit_status, 3);
  EXPECT_THAT(lines, ElementsAre("begun", "kept"));
}

TEST(RunAttended, WhoDoesNotListenIsKilledWhenPatienceIsOver) {
  std::stop_source stop;
  AttendedProgram deaf = Shell("trap '' TERM; echo begun >&2; while :; do sleep 0.01; done");
  deaf.patience_s = 0.05;
  const auto end =
      RunAttended(deaf, stop.get_token(), [&](std::string_view) { stop.request_stop(); });
  ASSERT_TRUE(end.has_value());
  EXPECT_EQ(end->signal, SIGKILL);
}

TEST(RunAttended, AnEndlessLineIsCut) {
  std::vector<std::string> lines;
  const auto end = RunAttended(Shell("head -c 100000 /dev/zero | tr '\\0' x >&2"), {},
                               [&](std::string_view line) { lines.emplace_back(line); });
  ASSERT_TRUE(end.has_value());
  ASSERT_EQ(lines.size(), 1U);
  EXPECT_EQ(lines.front().size(), 4096U);
}

TEST(RunAttended, SaysWhatCannotBeStarted) {
  const auto end = RunAttended({{"/no/such/program"}}, {}, [](std::string_view) {});
  ASSERT_FALSE(end.has_value());
  EXPECT_EQ(end.error().kind, ErrorKind::kNotPresent);
  EXPECT_THAT(end.error().detail, HasSubstr("cannot be started"));
  EXPECT_FALSE(RunAttended({}, {}, [](std::string_view) {}).has_value());
}

}  // namespace
}  // namespace base
