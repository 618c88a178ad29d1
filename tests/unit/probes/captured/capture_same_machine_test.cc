// SPDX-License-Identifier: Apache-2.0
//
// A captured machine must read as the machine itself, in all that is not only true while it runs.

#include <algorithm>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/captured/capture_machine.h"
#include "probes/captured/open_machine.h"
#include "probes/cpu/cgroup.h"
#include "probes/take_inventory.h"
#include "tests/support/machine_difference.h"
#include "tests/support/places.h"

namespace {

using probes::CaptureMachine;
using probes::IfThere;
using probes::Inventory;
using probes::OpenMachine;
using probes::TakeInventory;
using testing::Contains;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

template <typename T>
void ExpectSame(const base::Reading<T>& stored, const base::Reading<T>& own, const char* what) {
  EXPECT_EQ(stored.known(), own.known()) << what << ": " << stored.why_unknown();
  if (stored && own) {
    EXPECT_EQ(*stored, *own) << what;
  }
}

/// Whether a control group gives this process less than `all`, the memory of a captured
/// machine: that tells of no process.
bool IsGivenLess(const base::Reading<std::int64_t>& all) {
  const auto live = base::MachineRoot::Live();
  const auto groups = probes::ReadMemoryGroups(live);
  const auto limit = groups ? probes::ReadMemoryLimit(live, *groups) : std::nullopt;
  return limit && all && limit->limit_bytes < *all;
}

void ExpectSameCpu(const probes::CpuInventory& stored, const probes::CpuInventory& own) {
  ExpectSame(stored.model, own.model, "model");
  ExpectSame(stored.packages, own.packages, "packages");
  ExpectSame(stored.cores, own.cores, "cores");
  ExpectSame(stored.threads, own.threads, "threads");
  ExpectSame(stored.numa_nodes, own.numa_nodes, "NUMA nodes");
  ExpectSame(stored.min_khz, own.min_khz, "least frequency");
  ExpectSame(stored.frequency_driver, own.frequency_driver, "frequency driver");
  ExpectSame(stored.governor, own.governor, "governor");
  ExpectSame(stored.energy_preference, own.energy_preference, "energy preference");
  ExpectSame(stored.boost_enabled, own.boost_enabled, "boost");
  ExpectSame(stored.hypervisor, own.hypervisor, "hypervisor");
  if (!IsGivenLess(stored.memory_bytes)) {
    ExpectSame(stored.memory_bytes, own.memory_bytes, "memory");
  }
  ExpectSame(stored.swap_bytes, own.swap_bytes, "swap");
  ASSERT_THAT(stored.kinds, SizeIs(own.kinds.size()));
  for (std::size_t i = 0; i < own.kinds.size(); ++i) {
    EXPECT_EQ(stored.kinds[i].name, own.kinds[i].name);
    EXPECT_EQ(stored.kinds[i].cores, own.kinds[i].cores);
    EXPECT_EQ(stored.kinds[i].threads, own.kinds[i].threads);
  }
  ASSERT_THAT(stored.caches, SizeIs(own.caches.size()));
  for (std::size_t i = 0; i < own.caches.size(); ++i) {
    EXPECT_EQ(stored.caches[i].type, own.caches[i].type);
    EXPECT_EQ(stored.caches[i].size_bytes, own.caches[i].size_bytes);
    EXPECT_EQ(stored.caches[i].count, own.caches[i].count);
  }
}

void ExpectSameStorage(const probes::StorageInventory& stored,
                       const probes::StorageInventory& own) {
  ExpectSame(stored.mount_point, own.mount_point, "mount point");
  ExpectSame(stored.filesystem, own.filesystem, "filesystem");
  ExpectSame(stored.mount_options, own.mount_options, "mount options");
  ASSERT_THAT(stored.layers, SizeIs(own.layers.size()));
  for (std::size_t i = 0; i < own.layers.size(); ++i) {
    EXPECT_EQ(stored.layers[i].name, own.layers[i].name);
    EXPECT_EQ(stored.layers[i].kind, own.layers[i].kind);
    EXPECT_EQ(stored.layers[i].model, own.layers[i].model);
    ExpectSame(stored.layers[i].transport, own.layers[i].transport, "transport");
    ExpectSame(stored.layers[i].rotational, own.layers[i].rotational, "rotational");
    ExpectSame(stored.layers[i].size_bytes, own.layers[i].size_bytes, "size");
    EXPECT_EQ(stored.layers[i].usb_path, own.layers[i].usb_path);
    EXPECT_EQ(stored.layers[i].pci_address, own.layers[i].pci_address);
  }
}

void ExpectSameNetwork(const probes::NetworkInventory& stored,
                       const probes::NetworkInventory& own) {
  ASSERT_THAT(stored.links, SizeIs(own.links.size()));
  for (std::size_t i = 0; i < own.links.size(); ++i) {
    ExpectSame(stored.links[i].up, own.links[i].up, "up");
    ExpectSame(stored.links[i].wireless, own.links[i].wireless, "wireless");
    ExpectSame(stored.links[i].speed_mbps, own.links[i].speed_mbps, "speed");
    ExpectSame(stored.links[i].duplex, own.links[i].duplex, "duplex");
    ExpectSame(stored.links[i].driver, own.links[i].driver, "driver");
    ExpectSame(stored.links[i].receive_errors, own.links[i].receive_errors, "errors");
    EXPECT_EQ(stored.links[i].loopback, own.links[i].loopback);
    EXPECT_EQ(stored.links[i].pci_address, own.links[i].pci_address);
    EXPECT_EQ(stored.links[i].usb_path, own.links[i].usb_path);
    EXPECT_EQ(stored.links[i].default_route, own.links[i].default_route);
  }
}

void ExpectSameUsb(const probes::UsbInventory& stored, const probes::UsbInventory& own) {
  ExpectSame(stored.present, own.present, "USB");
  ASSERT_THAT(stored.controllers, SizeIs(own.controllers.size()));
  ASSERT_THAT(stored.devices, SizeIs(own.devices.size()));
  for (std::size_t i = 0; i < own.devices.size(); ++i) {
    EXPECT_EQ(stored.devices[i].path, own.devices[i].path);
    EXPECT_EQ(stored.devices[i].parent, own.devices[i].parent);
    EXPECT_EQ(stored.devices[i].product, own.devices[i].product);
    EXPECT_EQ(stored.devices[i].speed_mbps, own.devices[i].speed_mbps);
    EXPECT_EQ(stored.devices[i].role, own.devices[i].role);
    EXPECT_EQ(stored.devices[i].ports, own.devices[i].ports);
    EXPECT_EQ(stored.devices[i].physical_hub, own.devices[i].physical_hub);
    EXPECT_EQ(stored.devices[i].video_nodes, own.devices[i].video_nodes);
    EXPECT_EQ(stored.devices[i].descriptor_fault, own.devices[i].descriptor_fault);
    EXPECT_THAT(stored.devices[i].interfaces, SizeIs(own.devices[i].interfaces.size()));
    EXPECT_THAT(stored.devices[i].modes, SizeIs(own.devices[i].modes.size()));
  }
}

template <typename T>
void ExpectSameCount(const base::Reading<std::vector<T>>& stored,
                     const base::Reading<std::vector<T>>& own, const char* what) {
  EXPECT_EQ(stored.known(), own.known()) << what << ": " << stored.why_unknown();
  if (stored && own) {
    EXPECT_EQ(stored->size(), own->size()) << what;
  }
}

void ExpectSameHabits(const probes::SettingsInventory& stored,
                      const probes::SettingsInventory& own) {
  ExpectSame(stored.tuning_profile.value, own.tuning_profile.value, "tuning profile");
  ExpectSame(stored.sleep_states, own.sleep_states, "sleep states");
  ExpectSame(stored.sleep_target.value, own.sleep_target.value, "sleep target");
  ExpectSame(stored.idle_action.value, own.idle_action.value, "idle action");
  ExpectSame(stored.lid_action.value, own.lid_action.value, "lid action");
  ExpectSame(stored.has_lid, own.has_lid, "lid");
  ExpectSame(stored.swappiness, own.swappiness, "swappiness");
  ExpectSameCount(stored.swap_areas, own.swap_areas, "swap areas");
  ExpectSameCount(stored.clock_keepers, own.clock_keepers, "clock keepers");
  ExpectSameCount(stored.work_timers, own.work_timers, "timers");
  ExpectSameCount(stored.idle_states, own.idle_states, "idle states");
}

void ExpectSamePci(const probes::PciInventory& stored, const probes::PciInventory& own) {
  ExpectSame(stored.present, own.present, "PCI");
  ASSERT_THAT(stored.functions, SizeIs(own.functions.size()));
  for (std::size_t i = 0; i < own.functions.size(); ++i) {
    EXPECT_EQ(stored.functions[i].address, own.functions[i].address);
    EXPECT_EQ(stored.functions[i].parent, own.functions[i].parent);
    ExpectSame(stored.functions[i].driver, own.functions[i].driver, "driver");
    ExpectSame(stored.functions[i].link.best_width, own.functions[i].link.best_width, "width");
    ExpectSame(stored.functions[i].power_control, own.functions[i].power_control, "power");
    ExpectSame(stored.functions[i].link_sleep, own.functions[i].link_sleep, "link sleep");
  }
}

void ExpectSameMachine(const Inventory& stored, const Inventory& own) {
  ExpectSameCpu(stored.cpu, own.cpu);
  ExpectSameUsb(stored.usb, own.usb);
  ExpectSame(stored.gpu.present, own.gpu.present, "adapters");
  EXPECT_THAT(stored.gpu.adapters, SizeIs(own.gpu.adapters.size()));
  EXPECT_THAT(stored.gpu.displays, SizeIs(own.gpu.displays.size()));
  ASSERT_THAT(stored.storage, SizeIs(own.storage.size()));
  for (std::size_t i = 0; i < own.storage.size(); ++i) {
    ExpectSameStorage(stored.storage[i], own.storage[i]);
  }
  ExpectSameNetwork(stored.network, own.network);
  ExpectSame(stored.settings.os, own.settings.os, "system");
  ExpectSame(stored.settings.kernel, own.settings.kernel, "kernel");
  ExpectSame(stored.settings.on_mains, own.settings.on_mains, "mains");
  ExpectSame(stored.settings.has_battery, own.settings.has_battery, "battery");
  ExpectSame(stored.settings.power_profile, own.settings.power_profile, "power profile");
  ExpectSame(stored.settings.pcie_power_saving, own.settings.pcie_power_saving, "ASPM");
  EXPECT_EQ(stored.settings.file_watchers.known(), own.settings.file_watchers.known());
  ExpectSameHabits(stored.settings, own.settings);
  ExpectSamePci(stored.pci, own.pci);
}

class Capture : public testing::Test {
 protected:
  std::filesystem::path Archive() const { return folder_.path() / "machine.tar.gz"; }

  probes::TemporaryFolder folder_ = *probes::TemporaryFolder::Make();
};

TEST_F(Capture, OfThisPcReadsBackAsThisPc) {
  const auto live = base::MachineRoot::Live();
  const auto summary = CaptureMachine(live, Archive());
  ASSERT_TRUE(summary) << summary.error().where << ": " << summary.error().detail;
  EXPECT_GT(summary->files, 0U);
  EXPECT_THAT(summary->left_out, Contains(HasSubstr("serial numbers")));
  const auto opened = OpenMachine(Archive());
  ASSERT_TRUE(opened) << opened.error().detail;
  const probes::InventoryRequest request{{"/"}};
  const auto stored = TakeInventory(opened->root, request);
  EXPECT_FALSE(stored.live);
  EXPECT_EQ(stored.machine_root, "machine");
  ExpectSameMachine(stored, TakeInventory(live, request));
}

/// What is about this run of the program and not about the machine.
const std::vector<std::string> kOfTheRun{"machine_root", "seconds"};

probes::Inventory InventoryOf(const base::MachineRoot& root) {
  return TakeInventory(root, {{"/"}});
}

TEST_F(Capture, OfThisPcSaysTheSameInEveryMember) {
  const auto live = base::MachineRoot::Live();
  ASSERT_TRUE(CaptureMachine(live, Archive()));
  const auto opened = OpenMachine(Archive());
  ASSERT_TRUE(opened) << opened.error().detail;
  // What is not of the machine but of the run, moves all the time, or is private.
  std::vector<std::string> passed_over{
      "machine_root", "seconds", "live", "failure",
      // asked of the running system only: encoders, the quota of this process, the clock
      "codecs", "usable_cpus", "clock_synchronised", "resolved",
      // moving
      "memory_available_bytes", "free_bytes", "used_bytes", "max_khz", "min_khz", "throttle_events",
      "receive_errors", "receive_drops", "transmit_errors", "transmit_drops",
      // processes and addresses
      "file_watchers", "routes", "name", "pid"};
  const probes::Inventory stored = InventoryOf(opened->root);
  if (IsGivenLess(stored.cpu.memory_bytes)) {
    passed_over.emplace_back("memory_bytes");
  }
  EXPECT_THAT(tests::DifferencesFromLive(stored, InventoryOf(live), passed_over), IsEmpty());
}

TEST_F(Capture, OfAStoredMachineSaysTheSameInEveryMember) {
  for (const char* name :
       {"1xhci-disk-audio", "2xhci-2capture-hub-disk", "2xhci-3capture-shared-hub"}) {
    SCOPED_TRACE(name);
    const auto machine = OpenMachine(support::Fixtures() / "machines" / name);
    ASSERT_TRUE(machine) << machine.error().detail;
    ASSERT_TRUE(CaptureMachine(machine->root, Archive(), IfThere::kReplace));
    const auto again = OpenMachine(Archive());
    ASSERT_TRUE(again) << again.error().detail;
    EXPECT_THAT(tests::Differences(InventoryOf(again->root), InventoryOf(machine->root), kOfTheRun),
                IsEmpty());
  }
}

/// Invented drivers: a list of modes, a range of rates, metadata, and one that refuses.
base::Result<std::vector<probes::CaptureMode>> InventedModes(const std::string& node) {
  probes::CaptureMode listed;
  listed.pixel_format = "yuyv422";
  listed.width = 1280;
  listed.height = 720;
  listed.intervals_100ns = {200000, 400000};
  probes::CaptureMode range = listed;
  range.pixel_format = "Q 1 ";  // a fourcc that nobody knows
  range.intervals_100ns = {166666, 10000000};
  range.interval_step_100ns = 1;
  if (node == "video0") {
    return std::vector{listed, range};
  }
  if (node == "video1") {
    return std::vector<probes::CaptureMode>();
  }
  return base::Error{base::ErrorKind::kIo, "", "open: Device or resource busy"};
}

TEST_F(Capture, KeepsWhatDriversOffer) {
  const auto machine = OpenMachine(support::Fixtures() / "machines" / "2xhci-3capture-shared-hub");
  ASSERT_TRUE(machine) << machine.error().detail;
  ASSERT_TRUE(CaptureMachine(machine->root, Archive(), IfThere::kRefuse, {}, InventedModes));
  probes::InventoryRequest asking{{"/"}};
  asking.ask_modes = InventedModes;
  const auto asked = TakeInventory(machine->root, asking);
  EXPECT_EQ(std::count_if(asked.usb.devices.begin(), asked.usb.devices.end(),
                          [](const auto& device) { return device.driver_modes.known(); }),
            1);
  const auto opened = OpenMachine(Archive());
  ASSERT_TRUE(opened) << opened.error().detail;
  EXPECT_THAT(tests::Differences(InventoryOf(opened->root), asked, kOfTheRun), IsEmpty());
  // Captured once more where no driver is, it still tells.
  const auto second = folder_.path() / "second.tar.gz";
  ASSERT_TRUE(CaptureMachine(opened->root, second));
  const auto again = OpenMachine(second);
  ASSERT_TRUE(again) << again.error().detail;
  EXPECT_THAT(tests::Differences(InventoryOf(again->root), asked, kOfTheRun), IsEmpty());
}

// Whole trees, of virtual machines and of real ones: what a probe learns to read is in them.
TEST_F(Capture, OfAWholeTreeSaysTheSameInEveryMember) {
  const auto& shared = support::Shared();
  std::vector<std::filesystem::path> archives;
  for (const char* folder : {"captures", "data/machines"}) {
    std::error_code none;
    for (std::filesystem::recursive_directory_iterator entry(shared / folder, none), end;
         entry != end; entry.increment(none)) {
      if (entry->path().string().find(".tar.") != std::string::npos) {
        archives.push_back(entry->path());
      }
    }
  }
  if (archives.empty()) {
    GTEST_SKIP() << "no whole trees below " << shared;
  }
  for (const auto& path : archives) {
    SCOPED_TRACE(path);
    const auto machine = OpenMachine(path);
    ASSERT_TRUE(machine) << machine.error().detail;
    const auto summary = CaptureMachine(machine->root, Archive(), IfThere::kReplace);
    ASSERT_TRUE(summary) << summary.error().detail;
    EXPECT_GT(summary->files, 10U);
    const auto again = OpenMachine(Archive());
    ASSERT_TRUE(again) << again.error().detail;
    EXPECT_THAT(tests::Differences(InventoryOf(again->root), InventoryOf(machine->root), kOfTheRun),
                IsEmpty());
  }
}

}  // namespace
