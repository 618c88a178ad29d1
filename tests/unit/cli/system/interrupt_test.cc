// SPDX-License-Identifier: Apache-2.0
//
// The first signal requests a stop, and only a later Ctrl-C ends the program.

#include "cli/system/interrupt.h"

#include <signal.h>

#include <chrono>
#include <future>
#include <stop_token>
#include <thread>

#include <gtest/gtest.h>

namespace cli {
namespace {

TEST(InterruptTest, TheFirstSignalRequestsAStop) {
  Interrupt interrupt;
  EXPECT_FALSE(interrupt.Requested());
  std::promise<void> stopped;
  const std::stop_callback callback(interrupt.Token(), [&stopped] { stopped.set_value(); });
  raise(SIGTERM);
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
    raise(SIGINT);
    stopped.get_future().wait();
  }
}

TEST(InterruptTest, AClosingTerminalMayTellItSeveralTimes) {
  Interrupt interrupt;
  std::promise<void> stopped;
  const std::stop_callback callback(interrupt.Token(), [&stopped] { stopped.set_value(); });
  raise(SIGINT);
  raise(SIGHUP);
  raise(SIGHUP);
  stopped.get_future().wait();
  EXPECT_TRUE(interrupt.Requested());
}

TEST(InterruptTest, SeveralSignalsForOneReasonAreOne) {
  Interrupt interrupt;
  // timeout(1) sends one to the program and one to its group, dying threads one each.
  for (const int signal : {SIGINT, SIGINT, SIGTERM, SIGTERM, SIGHUP, SIGXCPU, SIGINT}) {
    raise(signal);
  }
  std::promise<void> stopped;
  const std::stop_callback callback(interrupt.Token(), [&stopped] { stopped.set_value(); });
  stopped.get_future().wait();
}

/// Raises it as if nobody could have sent it together with the first.
void RaiseLater(int signal) {
  std::this_thread::sleep_for(std::chrono::milliseconds(510));
  raise(signal);
}

TEST(InterruptTest, OnlyAPersonIsImpatient) {
  Interrupt interrupt;
  std::promise<void> stopped;
  const std::stop_callback callback(interrupt.Token(), [&stopped] { stopped.set_value(); });
  raise(SIGINT);
  RaiseLater(SIGTERM);
  raise(SIGHUP);
  stopped.get_future().wait();
}

TEST(InterruptDeathTest, ALaterCtrlCEndsTheProgram) {
  testing::FLAGS_gtest_death_test_style = "threadsafe";
  EXPECT_EXIT(
      {
        Interrupt interrupt;
        raise(SIGTERM);
        RaiseLater(SIGINT);
      },
      testing::ExitedWithCode(130), "");
}

TEST(InterruptTest, AHangUpThatIsIgnoredStaysSo) {
  const auto before = signal(SIGHUP, SIG_IGN);
  {
    const Interrupt interrupt;
    struct sigaction now {};
    ASSERT_EQ(sigaction(SIGHUP, nullptr, &now), 0);
    EXPECT_EQ(now.sa_handler, SIG_IGN);
  }
  EXPECT_EQ(signal(SIGHUP, before), SIG_IGN);
}

}  // namespace
}  // namespace cli
