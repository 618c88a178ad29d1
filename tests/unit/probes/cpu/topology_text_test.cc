// SPDX-License-Identifier: Apache-2.0
//
// What the program that reads a captured machine tells, and what may come instead of it.

#include "probes/cpu/topology_text.h"

#include <sys/stat.h>

#include <filesystem>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/system/program_parts.h"
#include "probes/cpu/cpu.h"
#include "tests/support/usb_made_machine.h"

namespace {

using probes::CpuTopology;
using probes::ParseTopologyText;
using probes::WriteTopologyText;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

CpuTopology Made() {
  CpuTopology topology;
  topology.packages = 1;
  topology.cores = 3;
  topology.threads = 5;
  topology.numa_nodes = 1;
  topology.caches = {{1, "data", 32768, 3}, {3, "unified", std::int64_t{1} << 33, 1}};
  topology.kinds = {{"performance", 2, {0, 1, 2, 3}}, {"efficient", 1, {8}}, {"core", 0, {}}};
  return topology;
}

TEST(TopologyText, IsReadBackAsItWas) {
  const std::string text = WriteTopologyText(Made());
  EXPECT_THAT(text, HasSubstr("kind performance 2 0-3\nkind efficient 1 8\n"));
  const auto read = ParseTopologyText(text);
  ASSERT_TRUE(read) << read.error().detail;
  EXPECT_EQ(WriteTopologyText(*read), text);
  EXPECT_THAT(read->kinds[0].cpus, ElementsAre(0, 1, 2, 3));
  EXPECT_THAT(read->kinds[2].cpus, IsEmpty());
  EXPECT_EQ(read->caches[1].size_bytes, std::int64_t{1} << 33);
}

TEST(TopologyText, WhatIsNoneIsRefused) {
  std::string many;
  for (int i = 0; i < 65; ++i) {
    many += "kind core 1 0\n";
  }
  for (const std::string& text :
       {std::string(), std::string("cores"), std::string("cores x"), std::string("cores -1"),
        std::string("cores 65537"), std::string("cores 1 1"), std::string("socks 1"),
        std::string("cache 3 unified 8388608"), std::string("cache 3 other 8388608 1"),
        std::string("cache 10 data 1 1"), std::string("cache 1 data -1 1"),
        std::string("kind best 1 0"), std::string("kind core 1 1-0"),
        std::string("kind core 1 0-4000000000"), std::string("cores 1\n\ncores 1"), many}) {
    EXPECT_FALSE(ParseTopologyText(text)) << text.substr(0, 40);
  }
}

/// A machine that is read by a program of the test's own instead of ours.
class AnotherProgram : public testing::Test {
 protected:
  AnotherProgram() {
    machine_.File("sys/devices/system/cpu/cpu0/topology/core_cpus", "1\n");
    machine_.File("proc/cpuinfo", "processor : 0\nmodel name : Made CPU\n");
  }
  ~AnotherProgram() override { base::TakePartsFrom(RIGPROOF_BUILD); }

  probes::CpuInventory ReadWith(const std::string& script) {
    const std::string program = "build/probes/rigproof-topology";
    machine_.File(program, "#!/bin/sh\n" + script + "\n");
    chmod((machine_.folder() / program).c_str(), 0755);
    base::TakePartsFrom(machine_.folder() / "build");
    return probes::ReadCpu(machine_.root());
  }

  tests::UsbMadeMachine machine_;
};

TEST_F(AnotherProgram, WhatItTellsIsTaken) {
  const auto cpu = ReadWith("echo threads 12; echo cores 6");
  EXPECT_EQ(cpu.threads, base::Reading<int>(12));
  EXPECT_FALSE(cpu.packages);
}

TEST_F(AnotherProgram, ItsEndIsUnknownAndTheRestGoesOn) {
  const auto aborted = ReadWith("echo threads 12; echo 'invalid list' >&2; kill -ABRT $$");
  EXPECT_THAT(aborted.threads.why_unknown(), HasSubstr("ended by signal 6: invalid list"));
  EXPECT_EQ(aborted.model, base::Reading<std::string>("Made CPU"));
  EXPECT_THAT(ReadWith("ulimit -S -t 1; while :; do :; done").cores.why_unknown(),
              HasSubstr("took longer than it may"));
  EXPECT_THAT(ReadWith("exit 1").cores.why_unknown(), HasSubstr("exit status 1"));
  EXPECT_THAT(ReadWith("echo threads many").threads.why_unknown(), HasSubstr("threads many"));
  EXPECT_THAT(ReadWith("head -c 3000000 /dev/zero").threads.why_unknown(), HasSubstr("found"));
}

TEST_F(AnotherProgram, ThatIsMissingIsSaid) {
  base::TakePartsFrom(machine_.folder());
  EXPECT_THAT(probes::ReadCpu(machine_.root()).threads.why_unknown(),
              HasSubstr("cannot be started"));
}

}  // namespace
