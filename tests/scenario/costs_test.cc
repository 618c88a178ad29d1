// The costs program as it is shipped, run as the tool runs it.

#include <set>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "bench/cost_table.h"

namespace {

TEST(CostsProgram, MeasuresEveryStageThatAProfileNeeds) {
  const auto table = bench::RunCostsProgram(RIGPROOF_COSTS, "one-camera-talk", 0.001);
  EXPECT_EQ(table.failure, "");
  std::set<std::string> stages;
  for (const auto& entry : table.entries) {
    stages.insert(entry.stage);
    EXPECT_GT(entry.cpu_ms, 0) << entry.stage << "/" << entry.detail;
    EXPECT_GT(entry.wall_ms, 0) << entry.stage << "/" << entry.detail;
    EXPECT_GE(entry.iterations, 1);
  }
  EXPECT_THAT(stages, testing::IsSupersetOf({"audio", "compose", "decode", "encode", "scale"}));
}

TEST(CostsProgram, SaysWhatIsWrongWithAProfile) {
  const auto table = bench::RunCostsProgram(RIGPROOF_COSTS, "no such profile", 0.001);
  EXPECT_TRUE(table.entries.empty());
  EXPECT_NE(table.failure.find("no such profile"), std::string::npos) << table.failure;
}

}  // namespace
