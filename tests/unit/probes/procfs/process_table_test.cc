// SPDX-License-Identifier: Apache-2.0
//
// All processes of made machines.

#include "probes/procfs/process_table.h"

#include <string>
#include <vector>

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/usb_made_machine.h"

namespace {

using probes::CloseProcesses;
using probes::KnownProcess;
using probes::ProcessTable;
using testing::DoubleNear;
using testing::ElementsAre;

constexpr std::int64_t kSecond = 1'000'000'000;

class Table : public testing::Test {
 protected:
  /// Fields of proc_pid_stat(5).
  void Set(int pid, int user, int start = 9, const std::string& name = "made", int parent = 1) {
    made_.File("proc/" + std::to_string(pid) + "/stat",
               fmt::format("{} ({}) S {} 1 1 0 -1 0 0 0 0 0 {} 0 0 0 20 0 1 0 {} 0 0", pid, name,
                           parent, user, start));
  }
  void SetNewest(int pid) { made_.File("proc/loadavg", fmt::format("0.1 0.1 0.1 1/80 {}\n", pid)); }

  tests::UsbMadeMachine made_;
  base::MachineRoot root_ = made_.root();
  ProcessTable table_{root_, 100};
};

TEST_F(Table, IdleOnesAreReadInOneRoundOfFour) {
  for (const int pid : {10, 11, 12, 13}) {
    Set(pid, 0);
  }
  table_.List(0, 100);
  std::int64_t now_ns = 0;
  const auto round = [&] { return table_.ReadSome(now_ns += kSecond, 100); };
  EXPECT_TRUE(round());
  EXPECT_TRUE(round());
  for (const int pid : {10, 11, 12, 13}) {
    EXPECT_EQ(table_.all().at(pid).read_ns, 2 * kSecond);
    Set(pid, 80);
  }
  for (int rounds = 1; rounds <= 4; ++rounds) {
    round();
    int seen = 0;
    for (const auto& [pid, process] : table_.all()) {
      seen += process.latest.own == 80 ? 1 : 0;
    }
    EXPECT_EQ(seen, rounds);
  }
  // 80 ticks of the one that was read last, since it was read four rounds before.
  EXPECT_THAT(table_.all().at(table_.Busiest(1).front()).cpus, DoubleNear(0.2, 1e-9));
  table_.ReadAll(now_ns += kSecond);
  for (const auto& [pid, process] : table_.all()) {
    EXPECT_EQ(process.read_ns, now_ns);
  }
}

TEST_F(Table, NobodyIsLookedForWhereNobodyCame) {
  Set(10, 0);
  SetNewest(10);
  table_.List(0, 100);
  Set(11, 0);
  table_.List(kSecond, 100);
  EXPECT_FALSE(table_.all().contains(11));
  SetNewest(11);
  table_.List(2 * kSecond, 100);
  EXPECT_TRUE(table_.all().contains(11));
  made_.Remove("proc/11");
  table_.List(3 * kSecond, 100);
  EXPECT_TRUE(table_.all().contains(11));
  table_.ListWhole();
  table_.List(4 * kSecond, 100);
  EXPECT_FALSE(table_.all().contains(11));
  made_.Remove("proc/10");
  table_.List(9 * kSecond, 100);
  EXPECT_FALSE(table_.all().contains(10));
}

TEST_F(Table, WhoIsGoneIsToldAlsoWhereTheNumberIsGivenAgain) {
  std::vector<std::int64_t> gone;
  table_.OnGone([&gone](const KnownProcess& process) {
    gone.push_back(process.latest.own - process.before);
  });
  Set(10, 100);
  Set(11, 200);
  table_.List(0, 100);
  Set(10, 150);
  Set(11, 230);
  table_.ReadAll(kSecond);
  Set(10, 7, 99);
  made_.Remove("proc/11");
  table_.List(2 * kSecond, 100);
  table_.ReadAll(2 * kSecond);
  EXPECT_THAT(gone, ElementsAre(30, 50));
  EXPECT_EQ(table_.all().at(10).before, 0);
  EXPECT_EQ(table_.all().at(10).latest.own, 7);
}

TEST_F(Table, TheKernelsOwnAreToldByTheirParent) {
  Set(3, 0, 1, "kworker", 2);
  Set(2, 0, 1, "server", 1);
  table_.List(0, 100);
  EXPECT_FALSE(table_.OfKernel(table_.all().at(3).latest));
  Set(2, 0, 1, "kthreadd", 0);
  table_.ReadAll(kSecond);
  EXPECT_TRUE(table_.OfKernel(table_.all().at(3).latest));
  EXPECT_TRUE(table_.OfKernel(table_.all().at(2).latest));
}

TEST_F(Table, CloseOnesCountFromWhenTheyWereChosen) {
  Set(10, 100);
  Set(11, 100);
  CloseProcesses close(root_);
  close.Choose({10, 11});
  EXPECT_FALSE(close.Busiest());
  Set(10, 130);
  Set(11, 110);
  const auto busiest = close.Busiest();
  ASSERT_TRUE(busiest);
  EXPECT_EQ(busiest->pid, 10);
  EXPECT_EQ(busiest->ticks, 30);
  EXPECT_EQ(busiest->all_ticks, 40);
  Set(10, 900, 99);  // another one under its number
  EXPECT_FALSE(close.Busiest());
}

}  // namespace
