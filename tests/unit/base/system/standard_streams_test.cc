// SPDX-License-Identifier: Apache-2.0
//
// A program that was started without some of its standard streams.

#include "base/system/standard_streams.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>

#include <gtest/gtest.h>

namespace base {
namespace {

/// Whether a file that is opened now gets none of the three numbers, input is empty, results fail
/// to be written, and messages do not.
bool AllStandFor() {
  OpenClosedStandardStreams();
  char byte = 0;
  const bool empty = read(STDIN_FILENO, &byte, 1) == 0;
  const bool refused = write(STDOUT_FILENO, "x", 1) < 0 && errno == EBADF;
  const bool vanished = write(STDERR_FILENO, "x", 1) == 1;
  return open("/dev/null", O_RDONLY) > STDERR_FILENO && empty && refused && vanished;
}

TEST(StandardStreamsDeathTest, ClosedOnesAreStoodFor) {
  testing::FLAGS_gtest_death_test_style = "threadsafe";
  EXPECT_EXIT(
      {
        close(STDIN_FILENO);
        close(STDOUT_FILENO);
        close(STDERR_FILENO);
        _exit(AllStandFor() ? 0 : 1);
      },
      testing::ExitedWithCode(0), "");
}

TEST(StandardStreamsDeathTest, OpenOnesStayAsTheyAre) {
  testing::FLAGS_gtest_death_test_style = "threadsafe";
  EXPECT_EXIT(
      {
        close(STDIN_FILENO);
        OpenClosedStandardStreams();
        _exit(write(STDERR_FILENO, "heard", 5) == 5 ? 0 : 1);
      },
      testing::ExitedWithCode(0), "heard");
}

}  // namespace
}  // namespace base
