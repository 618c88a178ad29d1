// CPU topology against hwloc's own printed answers and against lscpu (util-linux).

#include "probes/cpu_topology.h"

#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <regex>
#include <set>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/subprocess.h"
#include "base/text.h"
#include "probes/cpu.h"
#include "probes/open_machine.h"

namespace {

using base::Reading;
using probes::CpuTopology;
using probes::OpenMachine;
using probes::ReadCpuTopology;
using testing::SizeIs;

std::string ReadFile(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

int CountMatches(const std::string& text, const std::string& pattern) {
  const std::regex regex(pattern);
  return static_cast<int>(std::distance(std::sregex_iterator(text.begin(), text.end(), regex), {}));
}

/// Objects by type from the summary that hwloc's lstopo prints: "depth 1:  4 Package (type #1)".
std::map<std::string, int> CountsOfConsole(const std::string& text) {
  std::map<std::string, int> counts;
  const std::regex line(R"(depth -?\d+:\s+(\d+) (\w+) \(type)");
  for (std::sregex_iterator match(text.begin(), text.end(), line), end; match != end; ++match) {
    counts[(*match)[2]] = std::stoi((*match)[1]);
  }
  return counts;
}

int CachesOf(const CpuTopology& topology, int level, const std::string& type) {
  int count = 0;
  for (const probes::CpuCache& cache : topology.caches) {
    count += cache.level == level && cache.type == type ? cache.count : 0;
  }
  return count;
}

/// Trees of real machines and hwloc's answers, from hwloc's own tests.
class HwlocTree : public testing::TestWithParam<const char*> {};

TEST_P(HwlocTree, CountsAreThoseOfHwloc) {
  const auto folder = std::filesystem::path(RIGPROOF_SHARED) / "data" / "machines";
  const auto archive = folder / (std::string(GetParam()) + ".tar.bz2");
  if (!std::filesystem::exists(archive)) {
    GTEST_SKIP() << archive << " is not here";
  }
  const auto machine = OpenMachine(archive);
  ASSERT_TRUE(machine) << machine.error().detail;
  const auto topology = ReadCpuTopology(machine->root);
  ASSERT_TRUE(topology) << topology.error().detail;
  auto counts = CountsOfConsole(ReadFile(folder / (std::string(GetParam()) + ".console")));
  EXPECT_EQ(topology->packages, counts["Package"]);
  EXPECT_EQ(topology->cores, counts["Core"]);
  EXPECT_EQ(topology->threads, counts["PU"]);
  EXPECT_EQ(topology->numa_nodes, counts["NUMANode"]);
  EXPECT_EQ(CachesOf(*topology, 3, "unified"), counts["L3Cache"]);
  EXPECT_EQ(CachesOf(*topology, 2, "unified"), counts["L2Cache"]);
  EXPECT_EQ(CachesOf(*topology, 1, "data"), counts["L1dCache"]);
}

INSTANTIATE_TEST_SUITE_P(FromHwlocsTests, HwlocTree,
                         testing::Values("16amd64-8n2c", "16em64t-4s2c2t-offlines",
                                         "20em64t-hybrid-1p6c2t+2ca4co1t",
                                         "40intel64-4n10c+pci-conflicts", "8em64t-2s2ca2c"));

TEST(HybridTree, KindsAreThoseOfHwloc) {
  const auto folder = std::filesystem::path(RIGPROOF_SHARED) / "data" / "machines";
  const auto archive = folder / "20em64t-hybrid-1p6c2t+2ca4co1t.tar.bz2";
  if (!std::filesystem::exists(archive)) {
    GTEST_SKIP() << archive << " is not here";
  }
  const auto machine = OpenMachine(archive);
  ASSERT_TRUE(machine) << machine.error().detail;
  const auto cpu = probes::ReadCpu(machine->root);
  // The console marks each core "cpukind=N", N growing with its strength.
  const std::string console = ReadFile(folder / "20em64t-hybrid-1p6c2t+2ca4co1t.console");
  ASSERT_THAT(cpu.kinds, SizeIs(2));
  EXPECT_EQ(cpu.kinds[0].name, "performance");
  EXPECT_EQ(cpu.kinds[0].cores, CountMatches(console, R"(Core L#\d+ \(P#\d+ cpukind=1\))"));
  EXPECT_EQ(cpu.kinds[1].name, "efficient");
  EXPECT_EQ(cpu.kinds[1].cores, CountMatches(console, R"(Core L#\d+ \(P#\d+ cpukind=0\))"));
  EXPECT_EQ(cpu.kinds[0].threads + cpu.kinds[1].threads, CountMatches(console, R"(PU L#\d+)"));
}

/// Machines of our own, with what lstopo printed inside them.
class CapturedMachine : public testing::TestWithParam<const char*> {};

TEST_P(CapturedMachine, CountsAreThoseOfLstopoInside) {
  const auto folder = std::filesystem::path(RIGPROOF_FIXTURES) / "machines" / GetParam();
  const auto machine = OpenMachine(folder);
  ASSERT_TRUE(machine) << machine.error().detail;
  const auto topology = ReadCpuTopology(machine->root);
  ASSERT_TRUE(topology) << topology.error().detail;
  const std::string xml = ReadFile(folder / "ref" / "lstopo.xml");
  ASSERT_FALSE(xml.empty());
  EXPECT_EQ(topology->packages, CountMatches(xml, R"(<object type="Package")"));
  EXPECT_EQ(topology->cores, CountMatches(xml, R"(<object type="Core")"));
  EXPECT_EQ(topology->threads, CountMatches(xml, R"(<object type="PU")"));
  EXPECT_EQ(topology->numa_nodes, CountMatches(xml, R"(<object type="NUMANode")"));
  for (const auto& [level, name] : {std::pair(3, "L3Cache"), std::pair(2, "L2Cache")}) {
    for (const probes::CpuCache& cache : topology->caches) {
      if (cache.level == level) {
        EXPECT_EQ(cache.count,
                  CountMatches(xml, "type=\"" + std::string(name) + "\"[^>]*cache_size=\"" +
                                        std::to_string(cache.size_bytes) + "\""));
      }
    }
  }
}

INSTANTIATE_TEST_SUITE_P(OfOurOwn, CapturedMachine,
                         testing::Values("1xhci-disk-audio", "2xhci-2capture-hub-disk",
                                         "2xhci-3capture-shared-hub"));

TEST(ThisPc, CountsAreThoseOfLscpu) {
  const auto lscpu = base::RunProgram({{"lscpu", "-p=CPU,CORE,SOCKET,NODE"}});
  if (!lscpu || !lscpu->ok()) {
    GTEST_SKIP() << "lscpu does not run here";
  }
  std::set<std::string> cpus;
  std::set<std::string> cores;
  std::set<std::string> sockets;
  for (const std::string_view line : base::Split(lscpu->out, '\n')) {
    const auto fields = base::Split(line, ',');
    if (line.starts_with('#') || fields.size() < 4) {
      continue;
    }
    cpus.emplace(fields[0]);
    cores.emplace(fields[1]);
    sockets.emplace(fields[2]);
  }
  const auto cpu = probes::ReadCpu(base::MachineRoot::Live());
  EXPECT_EQ(cpu.threads, Reading<int>(static_cast<int>(cpus.size())));
  EXPECT_EQ(cpu.cores, Reading<int>(static_cast<int>(cores.size())));
  EXPECT_EQ(cpu.packages, Reading<int>(static_cast<int>(sockets.size())));
}

}  // namespace
