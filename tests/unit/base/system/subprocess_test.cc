// SPDX-License-Identifier: Apache-2.0

#include "base/system/subprocess.h"

#include <signal.h>

#include <stop_token>
#include <string>

#include <gtest/gtest.h>

#include "base/text.h"

namespace {

using base::Command;
using base::RunProgram;

Command Shell(const std::string& script) {
  Command command;
  command.argv = {"/bin/sh", "-c", script};
  return command;
}

TEST(RunProgram, KeepsBothOutputsAndTheExitStatus) {
  const auto done = RunProgram(Shell("echo out; echo err >&2; exit 3"));
  ASSERT_TRUE(done);
  EXPECT_EQ(done->out, "out\n");
  EXPECT_EQ(done->err, "err\n");
  EXPECT_EQ(done->exit_status, 3);
  EXPECT_FALSE(done->ok());
  EXPECT_EQ(base::WhyFailed(*done), "exit status 3: err");
}

TEST(RunProgram, PassesArgumentsAsTheyAre) {
  Command command;
  command.argv = {"printf", "%s|", "a b", "$HOME", "*", "'; exit 1"};
  const auto done = RunProgram(command);
  ASSERT_TRUE(done);
  EXPECT_TRUE(done->ok());
  EXPECT_EQ(done->out, "a b|$HOME|*|'; exit 1|");
  EXPECT_EQ(base::WhyFailed(*done), "");
}

TEST(RunProgram, GivesAnEmptyStandardInput) {
  const auto done = RunProgram(Shell("cat; echo end"));
  ASSERT_TRUE(done);
  EXPECT_EQ(done->out, "end\n");
}

TEST(RunProgram, CutsLongOutputWithoutBlockingTheProgram) {
  Command command = Shell("head -c 3000000 /dev/zero; head -c 200000 /dev/zero >&2");
  command.max_out_bytes = 1000;
  command.max_err_bytes = 10;
  const auto done = RunProgram(command);
  ASSERT_TRUE(done);
  EXPECT_TRUE(done->ok());
  EXPECT_EQ(done->out.size(), 1000U);
  EXPECT_EQ(done->err.size(), 10U);
  EXPECT_TRUE(done->out_cut);
  EXPECT_TRUE(done->err_cut);
}

TEST(RunProgram, KeepsOutputOfExactlyTheLimit) {
  Command command = Shell("printf 12345");
  command.max_out_bytes = 5;
  const auto done = RunProgram(command);
  ASSERT_TRUE(done);
  EXPECT_EQ(done->out, "12345");
  EXPECT_FALSE(done->out_cut);
}

TEST(RunProgram, SaysWhyItDidNotStart) {
  Command command;
  EXPECT_EQ(RunProgram(command).error().kind, base::ErrorKind::kInvalid);
  command.argv = {"/no/such/program"};
  EXPECT_EQ(RunProgram(command).error().kind, base::ErrorKind::kNotPresent);
  command.argv = {"/etc/passwd"};
  EXPECT_EQ(RunProgram(command).error().kind, base::ErrorKind::kDenied);
  command.argv = {"/bin/echo", std::string("a\0b", 3)};
  EXPECT_EQ(RunProgram(command).error().kind, base::ErrorKind::kInvalid);
}

TEST(RunProgram, TellsTheSignalThatEndedIt) {
  const auto done = RunProgram(Shell("kill -SEGV $$"));
  ASSERT_TRUE(done);
  EXPECT_EQ(done->signal, SIGSEGV);
  EXPECT_EQ(done->exit_status, -1);
  EXPECT_FALSE(done->timed_out);
}

TEST(RunProgram, EndsWhatTakesTooLong) {
  Command command = Shell("echo begun; exec sleep 600");
  command.timeout_seconds = 0.1;
  const auto done = RunProgram(command);
  ASSERT_TRUE(done);
  EXPECT_TRUE(done->timed_out);
  EXPECT_EQ(done->signal, SIGKILL);
  EXPECT_FALSE(done->ok());
}

TEST(RunProgram, EndsAProgramThatNeverStopsTalking) {
  Command command = Shell("exec yes");
  command.timeout_seconds = 0.1;
  command.max_out_bytes = 100;
  const auto done = RunProgram(command);
  ASSERT_TRUE(done);
  EXPECT_TRUE(done->timed_out);
  EXPECT_EQ(done->out.size(), 100U);
}

TEST(RunProgram, EndsOnRequest) {
  std::stop_source source;
  source.request_stop();
  const auto done = RunProgram(Shell("exec sleep 600"), source.get_token());
  ASSERT_TRUE(done);
  EXPECT_TRUE(done->stopped);
  EXPECT_FALSE(done->timed_out);
  EXPECT_EQ(base::WhyFailed(*done), "stopped on request");
}

TEST(RunProgram, KillsWhatTheProgramStartedToo) {
  // The grandchild outlives the shell and holds its output open.
  const auto done = RunProgram(Shell("sleep 600 & echo $!"));
  ASSERT_TRUE(done);
  ASSERT_TRUE(done->ok());
  const auto grandchild = base::ParseInt(base::Trim(done->out));
  ASSERT_TRUE(grandchild);
  // Killed, it may stay a name in the process table until init has collected it.
  Command state;
  state.argv = {"cat", "/proc/" + std::to_string(*grandchild) + "/stat"};
  const auto alive = [&] {
    const auto stat = RunProgram(state);
    return stat && stat->ok() && stat->out.find(") Z") == std::string::npos &&
           stat->out.find(") X") == std::string::npos;
  };
  int looks = 0;
  while (looks < 1000 && alive()) {
    ++looks;
  }
  EXPECT_LT(looks, 1000);
}

TEST(RunProgram, StartsWithSignalsUnblocked) {
  sigset_t blocked;
  sigset_t before;
  sigemptyset(&blocked);
  sigaddset(&blocked, SIGTERM);
  pthread_sigmask(SIG_BLOCK, &blocked, &before);
  const auto done = RunProgram(Shell("kill -TERM $$; sleep 0; echo survived"));
  pthread_sigmask(SIG_SETMASK, &before, nullptr);
  ASSERT_TRUE(done);
  EXPECT_EQ(done->signal, SIGTERM);
}

}  // namespace
