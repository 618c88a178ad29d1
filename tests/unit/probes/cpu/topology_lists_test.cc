// SPDX-License-Identifier: Apache-2.0
//
// Lists and maps of processors in a captured machine, before hwloc sees them.

#include "probes/cpu/topology_lists.h"

#include <sys/stat.h>

#include <string>
#include <utility>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/usb_made_machine.h"

namespace {

using base::ErrorKind;
using probes::CheckCpuMap;
using probes::CheckTopologyLists;
using testing::HasSubstr;

constexpr const char* kCpu = "sys/devices/system/cpu/";
constexpr const char* kNode = "sys/devices/system/node/";

/// Two processors of one core, on one node, with a cache.
void AddMachine(tests::UsbMadeMachine& machine) {
  for (const char* list : {"online", "possible", "present"}) {
    machine.File(std::string(kCpu) + list, "0-1\n");
  }
  machine.File(std::string(kCpu) + "offline", "\n");
  for (const char* cpu : {"cpu0/", "cpu1/"}) {
    machine.File(std::string(kCpu) + cpu + "topology/core_cpus", "00000000,00000003\n");
    machine.File(std::string(kCpu) + cpu + "cache/index0/shared_cpu_map", "3\n");
  }
  machine.File(std::string(kNode) + "online", "0\n");
  machine.File(std::string(kNode) + "node0/cpumap", "3\n");
  machine.File(std::string(kNode) + "node0/cpulist", "0-1\n");
}

TEST(CheckCpuMap, TakesWhatTheKernelWrites) {
  for (const char* map : {"0", "ff", "ffffffff", "00000000,FFFFFFFF", "3,00000000\n"}) {
    EXPECT_TRUE(CheckCpuMap(map)) << map;
  }
}

TEST(CheckCpuMap, RefusesWhatIsNoMapAndWhatIsHuge) {
  std::string most = "1";
  for (int group = 1; group < 2048; ++group) {
    most += ",00000000";  // 65536 processors in all
  }
  EXPECT_TRUE(CheckCpuMap(most));
  for (const std::string& map : {std::string(), std::string("0x3"), std::string("-1"),
                                 std::string("3,"), std::string("123456789"), most + ",0"}) {
    EXPECT_FALSE(CheckCpuMap(map)) << map.substr(0, 40);
  }
}

TEST(CheckTopologyLists, TakesAMachine) {
  tests::UsbMadeMachine machine;
  AddMachine(machine);
  EXPECT_TRUE(CheckTopologyLists(machine.root()));
}

TEST(CheckTopologyLists, TakesTheZeroByteOfOldKernels) {
  tests::UsbMadeMachine machine;
  AddMachine(machine);
  // As captured from real machines in the tests of hwloc 2.9 (8em64t-2s2ca2c).
  machine.File(std::string(kNode) + "online", std::string_view("0\n\0", 3));
  EXPECT_TRUE(CheckTopologyLists(machine.root()));
}

TEST(CheckTopologyLists, NamesTheFileThatCannotBe) {
  const std::pair<std::string, std::string> changes[] = {
      {std::string(kCpu) + "online", "1-0"},
      {std::string(kCpu) + "possible", "0-99999999"},
      {std::string(kCpu) + "present", "0-65536"},
      {std::string(kCpu) + "cpu1/topology/core_cpus", "nonsense"},
      {std::string(kCpu) + "cpu1/topology/package_cpus", "1ffffffff"},
      {std::string(kCpu) + "cpu0/cache/index0/shared_cpu_map", "-1"},
      {std::string(kNode) + "online", "1-0"},
      {std::string(kNode) + "possible", "0-99999999"},
      {std::string(kNode) + "has_memory", "1024"},
      {std::string(kNode) + "node0/cpumap", "g"},
      {std::string(kNode) + "node0/cpulist", "3-"},
      {"sys/devices/cpu_atom/cpus", "0-4294967296"},
      {std::string(kCpu) + "online", std::string(2 << 20, '1')},
  };
  for (const auto& [path, text] : changes) {
    tests::UsbMadeMachine machine;
    AddMachine(machine);
    machine.File(path, text);
    const auto checked = CheckTopologyLists(machine.root());
    ASSERT_FALSE(checked) << path << ": " << text.substr(0, 40);
    EXPECT_EQ(checked.error().kind, ErrorKind::kMalformed);
    EXPECT_EQ(checked.error().where, "/" + path);
  }
}

TEST(CheckTopologyLists, RefusesFoldersWithImpossibleNumbers) {
  for (const char* folder : {"cpu/cpu65536/topology", "node/node1024"}) {
    tests::UsbMadeMachine machine;
    AddMachine(machine);
    machine.Folder(std::string("sys/devices/system/") + folder);
    EXPECT_FALSE(CheckTopologyLists(machine.root())) << folder;
  }
}

TEST(CheckTopologyLists, RefusesAPipe) {
  tests::UsbMadeMachine machine;
  AddMachine(machine);
  const std::string path = std::string(kCpu) + "cpu0/topology/die_cpus";
  ASSERT_EQ(mkfifo((machine.folder() / path).c_str(), 0600), 0);
  const auto checked = CheckTopologyLists(machine.root());
  ASSERT_FALSE(checked);
  EXPECT_THAT(checked.error().detail, HasSubstr("not an ordinary file"));
}

TEST(CheckTopologyLists, WithoutAProcessorThereIsNothingToTell) {
  tests::UsbMadeMachine machine;
  EXPECT_EQ(CheckTopologyLists(machine.root()).error().kind, ErrorKind::kNotPresent);
}

}  // namespace
