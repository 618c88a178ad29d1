// SPDX-License-Identifier: Apache-2.0

#include "bench/runs/cost_table.h"

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <stop_token>
#include <string>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "bench/runs/cost_subject.h"

namespace {

// The reporter's form, as written by libbenchmark 1.7.1 of Debian 12.
constexpr const char* kTwoRuns = R"({
  "context": {"num_cpus": 2, "library_build_type": "release"},
  "benchmarks": [
    {"name": "copy/1280x720 nv12/process_time/real_time", "run_type": "iteration",
     "iterations": 4200, "real_time": 1.65e-01, "cpu_time": 1.64e-01, "time_unit": "ms"},
    {"name": "encode/1280x720 libx264 low talk 4000 kb/s/process_time/real_time",
     "run_type": "iteration", "iterations": 90, "real_time": 3500.5, "cpu_time": 6000,
     "time_unit": "us"}
  ]})";

std::string WithRun(const std::string& run) {
  return R"({"benchmarks": [)" + run + "]}";
}

TEST(ParseCosts, ReadsStageDetailAndTimes) {
  const auto table = bench::ParseCosts(kTwoRuns);
  ASSERT_TRUE(table);
  ASSERT_EQ(table->entries.size(), 2U);
  EXPECT_EQ(table->failure, "");
  EXPECT_EQ(table->entries[0].stage, bench::Stage::kCopy);
  EXPECT_EQ(table->entries[0].detail, "1280x720 nv12");
  EXPECT_DOUBLE_EQ(table->entries[0].cpu_ms, 0.164);
  EXPECT_DOUBLE_EQ(table->entries[0].wall_ms, 0.165);
  EXPECT_EQ(table->entries[0].iterations, 4200);
  EXPECT_EQ(table->entries[1].detail, "1280x720 libx264 low talk 4000 kb/s");
  EXPECT_DOUBLE_EQ(table->entries[1].cpu_ms, 6);
  EXPECT_DOUBLE_EQ(table->entries[1].wall_ms, 3.5005);
}

TEST(ParseCosts, ReadsOfWhatACostIs) {
  const bench::CostSubject encode{
      1280, 720, "libx264", profiles::Effort::kLow, profiles::Content::kClip, 4000};
  const auto entry_of = [](const std::string& label) {
    nlohmann::json run{{"name", "encode/x"}, {"iterations", 1},   {"real_time", 1},
                       {"cpu_time", 1},      {"time_unit", "ms"}, {"label", label}};
    const auto table = bench::ParseCosts(WithRun(run.dump()));
    return table && table->entries.size() == 1 ? table->entries[0].of
                                               : bench::CostSubject{-1, -1, ""};
  };
  EXPECT_EQ(entry_of(bench::ToLabel(encode)), encode);
  EXPECT_EQ(entry_of(bench::ToLabel({0, 0, "aac"})), (bench::CostSubject{0, 0, "aac"}));
  for (const char* const label :
       {"", "[]", "talk", "{}", R"({"width": 1, "height": 1, "form": 3, "bitrate_kbps": 0})",
        R"({"width": -1, "height": 1, "form": "a", "bitrate_kbps": 0})",
        R"({"width": 1, "height": 1e99, "form": "a", "bitrate_kbps": 0})",
        R"({"width": 1, "height": 1, "form": "a", "bitrate_kbps": 0, "effort": "brisk"})",
        R"({"width": 1, "height": 1, "form": "a", "bitrate_kbps": 0, "content": 7})"}) {
    EXPECT_EQ(entry_of(label), std::nullopt) << label;
  }
}

TEST(ParseCosts, TellsTheFirstStageThatFailed) {
  const auto table = bench::ParseCosts(WithRun(
      R"({"name": "encode/a/process_time/real_time", "run_type": "iteration",
          "error_occurred": true, "error_message": "no\u001b[31m such encoder"})"));
  ASSERT_TRUE(table);
  EXPECT_TRUE(table->entries.empty());
  EXPECT_EQ(table->failure, "encode/a: no\\x1B[31m such encoder");
}

TEST(ParseCosts, LeavesSumsOverRepetitionsOut) {
  const auto table = bench::ParseCosts(WithRun(
      R"({"name": "copy/a_mean", "run_type": "aggregate", "iterations": 3, "real_time": 1,
          "cpu_time": 1, "time_unit": "ms"})"));
  ASSERT_TRUE(table);
  EXPECT_TRUE(table->entries.empty());
}

TEST(ParseCosts, RefusesWhatItDoesNotUnderstand) {
  const std::string good = R"("iterations": 1, "real_time": 1, "cpu_time": 1, "time_unit": "ms"})";
  for (const std::string& text : {
           std::string(),
           std::string("{"),
           std::string("[]"),
           std::string("null"),
           std::string(R"({"benchmarks": 3})"),
           std::string(R"({"benchmarks": []})"),
           WithRun("7"),
           WithRun(R"({"name": "copy", )" + good),
           WithRun(R"({"name": 5, )" + good),
           WithRun(R"({"name": "/a", )" + good),
           WithRun(R"({"name": "brew/a", )" + good),
           WithRun(R"({"name": "copy/a", "iterations": 1, "real_time": "1", "cpu_time": 1,
                       "time_unit": "ms"})"),
           WithRun(R"({"name": "copy/a", "iterations": 1, "real_time": 1, "cpu_time": -1,
                       "time_unit": "ms"})"),
           WithRun(R"({"name": "copy/a", "iterations": 1, "real_time": 1, "cpu_time": 1,
                       "time_unit": "h"})"),
           std::string(100'000, '['),
       }) {
    const auto table = bench::ParseCosts(text);
    ASSERT_FALSE(table) << text.substr(0, 100);
    EXPECT_EQ(table.error().kind, base::ErrorKind::kMalformed);
  }
}

class RunCostsProgramTest : public testing::Test {
 protected:
  RunCostsProgramTest() {
    std::string name = testing::TempDir() + "rigproof_costs_XXXXXX";
    folder_ = mkdtemp(name.data());
  }
  ~RunCostsProgramTest() override { std::filesystem::remove_all(folder_); }

  /// A program of `script` in the place of the costs program.
  bench::CostTable Run(const std::string& script, const std::stop_token& stop = {}) const {
    const auto program = folder_ / "program";
    std::ofstream(program) << "#!/bin/sh\n" << script;
    std::filesystem::permissions(program, std::filesystem::perms::owner_all);
    return bench::RunCostsProgram(program, "some profile.json", 0.05, stop);
  }

  std::filesystem::path folder_;
};

TEST_F(RunCostsProgramTest, PassesProfileFormatAndTime) {
  const auto table = Run(R"([ "$1" = "--profile=some profile.json" ] || exit 9
[ "$2" = --benchmark_format=json ] || exit 9
[ "$3" = --benchmark_min_time=0.050000 ] || exit 9
cat <<'END'
)" + std::string(kTwoRuns) +
                         "\nEND\n");
  EXPECT_EQ(table.failure, "");
  EXPECT_EQ(table.entries.size(), 2U);
}

TEST_F(RunCostsProgramTest, PassesABudgetAndTellsWhatDidNotFit) {
  const auto program = folder_ / "program";
  std::ofstream(program) << R"(#!/bin/sh
[ "$4" = --budget-seconds=7 ] || exit 9
cat <<'END'
{"benchmarks": [
 {"name": "copy/640x360 nv12/real_time", "run_type": "iteration", "iterations": 10,
  "real_time": 1, "cpu_time": 1, "time_unit": "ms"},
 {"name": "encode/640x360", "run_type": "iteration", "error_occurred": true,
  "error_message": "no time was left for it"},
 {"name": "audio/aac", "run_type": "iteration", "error_occurred": true,
  "error_message": "no time was left for it"}]}
END
)";
  std::filesystem::permissions(program, std::filesystem::perms::owner_all);
  const auto table = bench::RunCostsProgram(program, "p", 0.05, {}, 7);
  EXPECT_EQ(table.entries.size(), 1U);
  EXPECT_EQ(table.failure, "encode/640x360: no time was left for it (and 1 more stage)");
}

TEST_F(RunCostsProgramTest, TellsThatItIsMissing) {
  const auto table = bench::RunCostsProgram(folder_ / "none", "p", 0.05);
  EXPECT_TRUE(table.entries.empty());
  EXPECT_NE(table.failure.find("cannot be started"), std::string::npos) << table.failure;
}

TEST_F(RunCostsProgramTest, TellsHowItEnded) {
  EXPECT_EQ(Run("echo odd cache >&2; exit 1").failure,
            "the costs program: exit status 1: odd cache");
  EXPECT_EQ(Run("kill -SEGV $$").failure, "the costs program: ended by signal 11");
  EXPECT_EQ(Run("echo nonsense").failure,
            "the costs program answered not the JSON of the costs program");
}

TEST_F(RunCostsProgramTest, EndsOnRequest) {
  std::stop_source source;
  source.request_stop();
  EXPECT_EQ(Run("exec sleep 600", source.get_token()).failure,
            "the costs program: stopped on request");
}

}  // namespace
