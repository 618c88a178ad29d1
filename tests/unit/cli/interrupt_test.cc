// SPDX-License-Identifier: Apache-2.0
//
// The first signal requests a stop, the second ends the program.

#include "cli/interrupt.h"

#include <csignal>
#include <future>
#include <stop_token>

#include <gtest/gtest.h>

namespace cli {
namespace {

TEST(InterruptTest, TheFirstSignalRequestsAStop) {
  Interrupt interrupt;
  EXPECT_FALSE(interrupt.Requested());
  std::promise<void> stopped;
  const std::stop_callback callback(interrupt.Token(), [&stopped] { stopped.set_value(); });
  std::raise(SIGTERM);
  stopped.get_future().wait();
  EXPECT_TRUE(interrupt.Requested());
}

TEST(InterruptTest, EndsQuietlyWithoutASignal) {
  std::stop_token token;
  {
    Interrupt interrupt;
    token = interrupt.Token();
  }
  EXPECT_FALSE(token.stop_requested());
}

TEST(InterruptTest, CanBeMadeAgain) {
  for (int i = 0; i < 3; ++i) {
    Interrupt interrupt;
    std::promise<void> stopped;
    const std::stop_callback callback(interrupt.Token(), [&stopped] { stopped.set_value(); });
    std::raise(SIGINT);
    stopped.get_future().wait();
  }
}

TEST(InterruptTest, AClosingTerminalMayTellItSeveralTimes) {
  Interrupt interrupt;
  std::promise<void> stopped;
  const std::stop_callback callback(interrupt.Token(), [&stopped] { stopped.set_value(); });
  std::raise(SIGINT);
  std::raise(SIGHUP);
  std::raise(SIGHUP);
  stopped.get_future().wait();
  EXPECT_TRUE(interrupt.Requested());
}

TEST(InterruptDeathTest, TheSecondSignalEndsTheProgram) {
  testing::FLAGS_gtest_death_test_style = "threadsafe";
  EXPECT_EXIT(
      {
        Interrupt interrupt;
        std::raise(SIGINT);
        std::raise(SIGINT);
      },
      testing::ExitedWithCode(130), "");
}

}  // namespace
}  // namespace cli
