// SPDX-License-Identifier: Apache-2.0
//
// A stored machine filled with invented private things, captured, and searched for them.

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/captured/capture_machine.h"
#include "probes/captured/open_machine.h"
#include "probes/take_inventory.h"
#include "tests/support/machine_difference.h"
#include "tests/support/places.h"
#include "tests/support/usb_made_descriptors.h"

namespace {

namespace fs = std::filesystem;

using probes::CaptureMachine;
using probes::OpenMachine;
using probes::TakeInventory;
using testing::IsEmpty;

constexpr const char* kHost = "greenroom-9";
constexpr const char* kUser = "tovik";
constexpr const char* kFullName = "Tovik Exampleson";
constexpr const char* kSerial = "SN55Q1A7";
constexpr const char* kAddress = "0a:1b:2c:3d:4e:5f";
constexpr const char* kUuid = "3f1c9e52-7d0b-4c6a-9a51-c0ffee123456";
constexpr const char* kContainer = "CONTAINERNUMBER!";  // 16 bytes

class PrivateTree : public testing::Test {
 protected:
  void SetUp() override {
    fs::copy(support::Fixtures() / "machines" / "2xhci-3capture-shared-hub", tree_,
             fs::copy_options::recursive | fs::copy_options::copy_symlinks);
    PlantSystem();
    PlantDevices();
    PlantNetwork();
    PlantStorage();
  }

  void Write(const std::string& path, const std::string& text) const {
    const fs::path file = tree_ / path;
    fs::create_directories(file.parent_path());
    std::error_code none;
    fs::permissions(file, fs::perms::owner_write, fs::perm_options::add, none);
    std::ofstream(file, std::ios::binary) << text;
  }

  std::string Read(const std::string& path) const {
    std::ifstream file(tree_ / path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
  }

  void PlantSystem() const {
    Write("etc/hostname", std::string(kHost) + "\n");
    Write("proc/sys/kernel/hostname", std::string(kHost) + "\n");
    Write("etc/passwd",
          std::string(kUser) + ":x:1000:1000:" + kFullName + ",,,:/home/" + kUser + ":/bin/sh\n");
    Write("etc/machine-id", "0123456789abcdef0123456789abcdef\n");
    Write("proc/sys/kernel/random/boot_id", std::string(kUuid) + "\n");
    Write("proc/version", std::string("Linux version 6.1.0 (") + kUser + "@" + kHost + ") #1\n");
    Write("proc/cpuinfo", Read("proc/cpuinfo") + "Serial\t\t: " + kSerial + "\n");
    for (const char* file : {"product_serial", "board_serial", "chassis_serial", "product_uuid"}) {
      Write(std::string("sys/class/dmi/id/") + file, std::string(kSerial) + "\n");
    }
    PlantFirmware();
    Write("proc/swaps", "Filename Type Size Used Priority\n/home/" + std::string(kUser) +
                            "/swapfile file 1048572 0 -2\n");
  }

  /// A memory module with its numbers (SMBIOS type 17), a display with its own (EDID).
  void PlantFirmware() const {
    std::string module(0x22, '\0');
    module[0] = 17;
    module[1] = 0x22;
    module[0x10] = 1;
    module[0x18] = 2;
    module[0x19] = 2;
    const std::string zero(1, '\0');
    Write("sys/firmware/dmi/tables/DMI",
          module + "DIMM_A1" + zero + kSerial + zero + zero + kUuid + zero);
    std::string edid(128, '\0');
    edid.replace(0, 8, "\0\xff\xff\xff\xff\xff\xff\0", 8);
    edid.replace(54 + 3, 15, std::string("\xff\0", 2) + kSerial);
    edid.resize(128, '\0');
    Write("sys/class/drm/card0-DP-1/status", "connected\n");
    Write("sys/class/drm/card0-DP-1/edid", edid + kSerial);
    Write("run/udev/data/+dmi:id", std::string("E:MEMORY_DEVICE_0_SIZE=8589934592\n") +
                                       "E:MEMORY_DEVICE_0_SERIAL_NUMBER=" + kSerial +
                                       "\nE:MEMORY_DEVICE_0_ASSET_TAG=" + kSerial + "\n");
  }

  /// Into every folder of a device below /sys/devices that the machine has.
  void PlantDevices() const {
    tests::Blob bos = tests::BosBytes(
        tests::Join({tests::kSuperSpeed, {20, 0x10, 0x04, 0}, tests::Blob(16, 0)}), 2);
    std::copy_n(kContainer, 16, bos.end() - 16);
    std::vector<fs::path> devices;
    for (const auto& entry : fs::recursive_directory_iterator(tree_ / "sys" / "devices")) {
      if (entry.path().filename() == "descriptors") {
        devices.push_back(entry.path().parent_path().lexically_relative(tree_));
      }
    }
    ASSERT_GT(devices.size(), 5U);
    for (const fs::path& device : devices) {
      Write((device / "serial").string(), std::string(kSerial) + "\n");
      Write((device / "product").string(), "Tovik's recorder\n");
      Write((device / "bos_descriptors").string(), std::string(bos.begin(), bos.end()));
      Write((device / "uevent").string(), std::string("DRIVER=usb\nHID_UNIQ=") + kAddress +
                                              "\nID_SERIAL=" + kSerial + "\nHID_NAME=" + kUser +
                                              "\n");
    }
    Write("run/udev/data/c81:0", std::string("S:v4l/by-id/usb-Made_") + kSerial +
                                     "-video-index0\nE:ID_SERIAL_SHORT=" + kSerial + "\n");
  }

  void PlantNetwork() const {
    const std::string link = "sys/devices/pci0000:00/0000:00:09.0/net/enx0a1b2c3d4e5f";
    Write(link + "/address", std::string(kAddress) + "\n");
    Write(link + "/perm_address", std::string(kAddress) + "\n");
    Write(link + "/operstate", "up\n");
    Write(link + "/ifalias", std::string("uplink of ") + kHost + "\n");
    Write(link + "/phys_port_id", "0a1b2c3d4e5f\n");
    for (const char* file : {"rx_errors", "rx_dropped", "tx_errors", "tx_dropped"}) {
      Write(link + "/statistics/" + file, "3\n");
    }
    fs::create_symlink("../../devices/pci0000:00/0000:00:09.0/net/enx0a1b2c3d4e5f",
                       tree_ / "sys/class/net/enx0a1b2c3d4e5f");
    Write("proc/net/route",
          "Iface\tDestination\tGateway\tFlags\tRefCnt\tUse\tMetric\tMask\tMTU\tWindow\tIRTT\n"
          "enx0a1b2c3d4e5f\t00000000\t0101A8C0\t0003\t0\t0\t100\t00000000\t0\t0\t0\n"
          "enx0a1b2c3d4e5f\t007100CB\t0101A8C0\t0003\t0\t0\t100\t00FFFFFF\t0\t0\t0\n");
    // 2001:db8:77::/64 and the number made of the link's own address in it (RFC 4291, EUI-64).
    Write("proc/net/ipv6_route",
          "20010db8007700000000000000000000 40 00000000000000000000000000000000 00 "
          "00000000000000000000000000000000 00000100 00000001 00000000 00000001 "
          "enx0a1b2c3d4e5f\n"
          "20010db8007700000a1b2cfffe3d4e5f 80 00000000000000000000000000000000 00 "
          "00000000000000000000000000000000 00000000 00000002 00000000 80200001 "
          "enx0a1b2c3d4e5f\n");
  }

  void PlantStorage() const {
    const std::string disk = "sys/devices/virtual/block/dm-0";
    Write(disk + "/dm/name", std::string("luks-") + kUuid + "\n");
    Write(disk + "/dm/uuid", std::string("CRYPT-LUKS2-") + kUuid + "-" + kHost + "\n");
    Write(disk + "/size", "2048\n");
    fs::create_symlink("../../devices/virtual/block/dm-0", tree_ / "sys/class/block/dm-0");
    const std::string nvme = "sys/devices/pci0000:00/0000:00:0a.0/nvme/nvme0";
    for (const char* file : {"serial", "wwid", "nguid", "uuid", "eui"}) {
      Write(nvme + "/nvme0n1/" + file, std::string(kSerial) + kUuid + "\n");
    }
    Write(nvme + "/serial", std::string(kSerial) + "\n");
    Write(nvme + "/model", "Made Up Disk\n");
    Write("proc/self/mountinfo", Read("proc/self/mountinfo") + "90 25 253:0 / /media/" + kUser +
                                     "/CARD rw - ext4 /dev/mapper/luks-" + kUuid + " rw\n" +
                                     "91 25 0:50 / /mnt/" + kHost +
                                     " rw - cifs //fileserver.example.test/share "
                                     "rw,username=" +
                                     kUser + ",domain=EXAMPLEDOM\n");
  }

  probes::TemporaryFolder folder_ = *probes::TemporaryFolder::Make();
  fs::path tree_ = folder_.path() / "tree";
  fs::path archive_ = folder_.path() / "machine.tar.gz";
};

/// "path: secret" wherever one of `secrets` stands in a name, a link or a file, in capitals or not.
std::vector<std::string> Found(const fs::path& folder, const std::vector<std::string>& secrets) {
  const auto small = [](std::string text) {
    std::transform(text.begin(), text.end(), text.begin(), [](unsigned char c) {
      return static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c);
    });
    return text;
  };
  std::vector<std::string> found;
  for (const auto& entry : fs::recursive_directory_iterator(folder)) {
    const std::string name = entry.path().lexically_relative(folder).string();
    std::string text = name;
    if (entry.is_symlink()) {
      text += "\n" + fs::read_symlink(entry.path()).string();
    } else if (entry.is_regular_file()) {
      std::ifstream file(entry.path(), std::ios::binary);
      text += "\n" + std::string{std::istreambuf_iterator<char>(file), {}};
    }
    text = small(text);
    for (const std::string& secret : secrets) {
      if (text.find(small(secret)) != std::string::npos) {
        found.emplace_back(name).append(": ").append(secret);
      }
    }
  }
  return found;
}

const std::vector<std::string> kSecrets{kHost,        kUser,
                                        kFullName,    kSerial,
                                        kAddress,     "0a1b2c3d4e5f",
                                        kUuid,        kContainer,
                                        "fileserver", "EXAMPLEDOM",
                                        "0101A8C0",   "007100CB",
                                        "20010db8",   "0123456789abcdef0123456789abcdef"};

TEST_F(PrivateTree, NothingOfItLeavesTheMachine) {
  // The search itself finds every one of them in the tree.
  const auto before = Found(tree_, kSecrets);
  for (const std::string& secret : kSecrets) {
    EXPECT_TRUE(std::any_of(before.begin(), before.end(), [&](const std::string& line) {
      return line.ends_with(": " + secret);
    })) << secret;
  }
  const auto machine = OpenMachine(tree_);
  ASSERT_TRUE(machine) << machine.error().detail;
  const auto summary = CaptureMachine(machine->root, archive_);
  ASSERT_TRUE(summary) << summary.error().detail;
  const auto captured = OpenMachine(archive_);
  ASSERT_TRUE(captured) << captured.error().detail;
  EXPECT_THAT(Found(captured->root.folder(), kSecrets), IsEmpty());
}

TEST_F(PrivateTree, TheArchiveSaysTheSameOfTheMachine) {
  const auto machine = OpenMachine(tree_);
  ASSERT_TRUE(machine) << machine.error().detail;
  ASSERT_TRUE(CaptureMachine(machine->root, archive_));
  const auto captured = OpenMachine(archive_);
  ASSERT_TRUE(captured) << captured.error().detail;
  const probes::InventoryRequest request{{"/"}};
  // Private things themselves: the name of a link that is made of its address, names of people in
  // the name of a device, places in people's folders.
  EXPECT_THAT(tests::Differences(TakeInventory(captured->root, request),
                                 TakeInventory(machine->root, request),
                                 {"machine_root", "seconds", "product", "name", "routes", "link",
                                  "swap_areas", "failure"}),
              IsEmpty());
  // A folder on the locked volume is still known to lie on it.
  const auto locked = TakeInventory(captured->root, {{"/media/user/CARD"}});
  ASSERT_FALSE(locked.storage.empty());
  ASSERT_FALSE(locked.storage[0].layers.empty());
  EXPECT_EQ(locked.storage[0].layers[0].kind, "crypt");
}

}  // namespace
