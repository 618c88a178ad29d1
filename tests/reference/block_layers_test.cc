// SPDX-License-Identifier: Apache-2.0
//
// Disks against what lsblk (util-linux) says of them.

#include "probes/storage/block_layers.h"

#include <filesystem>
#include <fstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "base/system/subprocess.h"
#include "base/text.h"
#include "probes/captured/open_machine.h"
#include "probes/storage/storage.h"
#include "tests/support/places.h"

namespace {

using base::Reading;
using nlohmann::json;
using probes::OpenMachine;
using testing::IsEmpty;
using testing::SizeIs;

/// A mount of the device with lsblk's number "8:0".
probes::Mount MountOf(const std::string& number) {
  probes::Mount mount;
  mount.mount_point = "/";
  mount.filesystem = "ext4";
  const auto parts = base::Split(number, ':');
  mount.major = static_cast<int>(base::ParseInt(parts.at(0)).value_or(0));
  mount.minor = static_cast<int>(base::ParseInt(parts.at(1)).value_or(0));
  return mount;
}

/// "256M", "1.1G": lsblk rounds to one decimal, in powers of 1024.
double BytesOf(const std::string& size) {
  const double factor = size.ends_with('G') ? 1 << 30 : 1 << 20;
  return base::ParseDouble(size.substr(0, size.size() - 1)).value_or(0) * factor;
}

class CapturedDisks : public testing::TestWithParam<const char*> {};

TEST_P(CapturedDisks, AreThoseOfLsblkInside) {
  const auto folder = support::Fixtures() / "machines" / GetParam();
  const auto machine = OpenMachine(folder);
  ASSERT_TRUE(machine) << machine.error().detail;
  std::ifstream file(folder / "ref" / "lsblk.json");
  const json answer = json::parse(file);
  ASSERT_THAT(answer.at("blockdevices"), testing::Not(IsEmpty()));
  for (const json& device : answer.at("blockdevices")) {
    const auto stack = probes::ReadBlockStack(machine->root, {}, MountOf(device.at("maj:min")));
    ASSERT_THAT(stack.layers, SizeIs(1)) << stack.why_incomplete;
    const probes::BlockLayer& disk = stack.layers[0];
    EXPECT_EQ(disk.name, device.at("kname"));
    EXPECT_EQ(disk.kind, device.at("type"));
    EXPECT_EQ(disk.rotational, Reading<bool>(device.at("rota").get<bool>()));
    const double size_bytes = BytesOf(device.at("size"));
    ASSERT_TRUE(disk.size_bytes);
    EXPECT_NEAR(static_cast<double>(*disk.size_bytes), size_bytes, size_bytes / 20);
    if (!device.at("tran").is_null()) {
      EXPECT_EQ(disk.transport, Reading<std::string>(device.at("tran").get<std::string>()));
    }
    if (!device.at("model").is_null()) {
      EXPECT_EQ(disk.model, device.at("model"));
    }
  }
}

INSTANTIATE_TEST_SUITE_P(OfOurOwn, CapturedDisks,
                         testing::Values("1xhci-disk-audio", "2xhci-2capture-hub-disk",
                                         "2xhci-3capture-shared-hub"));

TEST(ThisPc, TheDisksBehindTheRootAreThoseOfLsblk) {
  const auto storage = probes::ReadStorage(base::MachineRoot::Live(), "/");
  if (storage.layers.empty()) {
    GTEST_SKIP() << storage.why_no_layers;
  }
  for (const probes::BlockLayer& layer : storage.layers) {
    const auto lsblk = base::RunProgram(
        {{"lsblk", "-J", "-b", "-d", "-o", "KNAME,SIZE,ROTA", "/dev/" + layer.name}});
    if (!lsblk || !lsblk->ok()) {
      GTEST_SKIP() << "lsblk does not run here, or /dev has no " << layer.name;
    }
    const json device = json::parse(lsblk->out).at("blockdevices").at(0);
    EXPECT_EQ(layer.name, device.at("kname"));
    EXPECT_EQ(layer.size_bytes, Reading<std::int64_t>(device.at("size").get<std::int64_t>()));
    EXPECT_EQ(layer.rotational, Reading<bool>(device.at("rota").get<bool>()));
  }
}

}  // namespace
