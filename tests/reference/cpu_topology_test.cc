// SPDX-License-Identifier: Apache-2.0
//
// CPU topology against hwloc's own printed answers and against lscpu (util-linux).

#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <map>
#include <regex>
#include <set>
#include <string>
#include <string_view>
#include <system_error>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/system/subprocess.h"
#include "base/text.h"
#include "probes/captured/open_machine.h"
#include "probes/cpu/cpu.h"
#include "probes/cpu/topology.h"
#include "tests/support/places.h"

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
  const auto folder = support::Shared() / "data" / "machines";
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
  const auto folder = support::Shared() / "data" / "machines";
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
  const auto folder = support::Fixtures() / "machines" / GetParam();
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
                                        std::to_string(cache.size_bytes.value_or(0)) + "\""));
      }
    }
  }
}

INSTANTIATE_TEST_SUITE_P(OfOurOwn, CapturedMachine,
                         testing::Values("1xhci-disk-audio", "2xhci-2capture-hub-disk",
                                         "2xhci-3capture-shared-hub"));

/// Counts of CPUs, cores, sockets and nodes as a program tells them.
struct Counts {
  int threads = 0;
  int cores = 0;
  int packages = 0;
  int nodes = 0;

  bool operator==(const Counts&) const = default;
};

std::ostream& operator<<(std::ostream& out, const Counts& counts) {
  return out << counts.threads << " threads, " << counts.cores << " cores, " << counts.packages
             << " packages, " << counts.nodes << " nodes";
}

/// From the lines "CPU,CORE,SOCKET,NODE" of lscpu -p; a missing node counts as the only one.
Counts CountsOfLscpu(std::string_view text) {
  std::set<std::string> values[4];
  for (const std::string_view line : base::Split(text, '\n')) {
    const auto fields = base::Split(line, ',');
    for (std::size_t i = 0; !line.starts_with('#') && fields.size() >= 4 && i < 4; ++i) {
      values[i].emplace(fields[i]);
    }
  }
  const auto size = [&](std::size_t i) { return static_cast<int>(values[i].size()); };
  return {size(0), size(1), size(2), size(3)};
}

/// Every tree that there is: those of hwloc's tests and others of real machines, whole ones of
/// virtual machines, and the fixtures.
std::vector<std::filesystem::path> StoredTrees() {
  std::vector<std::filesystem::path> trees;
  const std::filesystem::path& shared = support::Shared();
  for (const auto& folder : {shared / "data" / "machines", shared / "captures"}) {
    std::error_code none;
    for (std::filesystem::recursive_directory_iterator entry(folder, none), end; entry != end;
         entry.increment(none)) {
      if (entry->path().filename().string().find(".tar.") != std::string::npos) {
        trees.push_back(entry->path());
      }
    }
  }
  for (const auto& entry : std::filesystem::directory_iterator(support::Fixtures() / "machines")) {
    trees.push_back(entry.path());
  }
  return trees;
}

TEST(EveryStoredTree, CountsAreThoseOfLstopoAndLscpu) {
  const auto version = base::RunProgram({{"lstopo-no-graphics", "--version"}});
  if (!version || !version->ok()) {
    GTEST_SKIP() << "lstopo-no-graphics (Debian package hwloc) does not run here";
  }
  const auto trees = StoredTrees();
  ASSERT_GE(trees.size(), 3U);
  for (const auto& path : trees) {
    SCOPED_TRACE(path);
    const auto machine = OpenMachine(path);
    ASSERT_TRUE(machine) << machine.error().detail;
    const std::string folder = machine->root.folder().string();
    const auto topology = ReadCpuTopology(machine->root);
    ASSERT_TRUE(topology) << topology.error().detail;
    const Counts ours{topology->threads, topology->cores, topology->packages, topology->numa_nodes};

    const auto lstopo = base::RunProgram(
        {{"lstopo-no-graphics", "-i", folder, "--if", "fsroot", "--of", "console", "-v"}});
    ASSERT_TRUE(lstopo) << lstopo.error().detail;
    ASSERT_TRUE(lstopo->ok()) << lstopo->err;
    auto objects = CountsOfConsole(lstopo->out);
    const Counts hwloc{objects["PU"], objects["Core"], objects["Package"], objects["NUMANode"]};
    EXPECT_EQ(ours, hwloc);
    EXPECT_EQ(CachesOf(*topology, 3, "unified"), objects["L3Cache"]);
    EXPECT_EQ(CachesOf(*topology, 2, "unified"), objects["L2Cache"]);
    EXPECT_EQ(CachesOf(*topology, 1, "data"), objects["L1dCache"]);

    const auto lscpu =
        base::RunProgram({{"lscpu", "--sysroot", folder, "-p=CPU,CORE,SOCKET,NODE"}});
    if (!lscpu || !lscpu->ok()) {
      std::cout << path.filename()
                << ": lscpu cannot read it\n";  // it needs files that are not there
      continue;
    }
    const Counts util_linux = CountsOfLscpu(lscpu->out);
    EXPECT_EQ(ours.threads, util_linux.threads);
    EXPECT_EQ(ours.cores, util_linux.cores);
    if (util_linux == hwloc) {
      EXPECT_EQ(ours, util_linux);
    } else {
      // Firmware that contradicts itself: the two programs believe different files.
      std::cout << path.filename() << ": hwloc " << hwloc << "; lscpu " << util_linux << "\n";
    }
  }
}

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
