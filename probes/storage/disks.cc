// SPDX-License-Identifier: Apache-2.0

#include "probes/storage/disks.h"

#include <cctype>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/text.h"
#include "probes/storage/ask_disk.h"
#include "probes/storage/block_layers.h"
#include "probes/storage/disk_health.h"

namespace probes {
namespace {

using base::MachineRoot;

const std::string kClass = "/sys/class/block";
constexpr std::size_t kMostDisks = 256;

/// "sr0", "fd0": drives for media that nothing is recorded on.
bool IsDriveOfOtherMedia(std::string_view name) {
  return (name.starts_with("sr") || name.starts_with("fd")) && name.size() > 2 &&
         std::isdigit(static_cast<unsigned char>(name[2])) != 0;
}

/// Degrees of the first sensor in a folder such as "hwmon3".
std::optional<double> ReadSensor(const MachineRoot& root, const std::string& folder) {
  constexpr std::int64_t kMostMilli = 1'000'000;
  const auto milli = root.ReadInt(folder + "/temp1_input");
  return milli && *milli > -kMostMilli && *milli < kMostMilli
             ? std::optional(static_cast<double>(*milli) / 1000)
             : std::nullopt;
}

/// The kernel's own sensor of a disk: drivetemp and NVMe make one
/// (https://docs.kernel.org/hwmon/drivetemp.html).
std::optional<double> ReadTemperature(const MachineRoot& root, const std::string& disk) {
  const std::string device = kClass + "/" + disk + "/device";
  for (const std::string& folder : {device, device + "/hwmon"}) {
    for (const std::string& name : root.List(folder).value_or({})) {
      if (name.starts_with("hwmon") && name.size() > std::string_view("hwmon").size()) {
        if (const auto degrees = ReadSensor(root, folder + "/" + name)) {
          return degrees;
        }
      }
    }
  }
  return std::nullopt;
}

DiskHealth ReadHealth(const MachineRoot& root, const std::string& name, const BlockLayer& device) {
  DiskHealth health = root.live()
                          ? AskDiskHealth(name, device.transport.value_or(""))
                          : FindCapturedHealth(root.Read(kCapturedDisksFile).value_or(""), name);
  if (const auto degrees = ReadTemperature(root, name)) {
    health.temperature_c = *degrees;
  }
  const auto life = root.ReadTrimmed(kClass + "/" + name + "/device/life_time");
  if (const auto wear = life ? ParseMmcLife(*life) : std::nullopt) {
    health.wear_percent = *wear;
  }
  return health;
}

}  // namespace

DiskInventory ReadDisks(const MachineRoot& root) {
  DiskInventory found;
  const auto names = root.List(kClass);
  if (!names) {
    found.present = base::Reading<bool>(base::Result<bool>(names.error()));
    return found;
  }
  for (const std::string& name : *names) {
    const auto path = root.Resolve(kClass + "/" + name);
    if (!path || IsDriveOfOtherMedia(name) || found.disks.size() >= kMostDisks ||
        root.ReadInt(*path + "/hidden").value_or(0) != 0) {
      continue;
    }
    Disk disk;
    disk.device = ReadBlockDevice(root, *path);
    if (disk.device.kind != "disk") {
      continue;
    }
    const auto removable = root.ReadInt(*path + "/removable");
    disk.removable = removable ? base::Reading<bool>(*removable != 0)
                               : base::Reading<bool>(base::Result<bool>(removable.error()));
    disk.health = ReadHealth(root, name, disk.device);
    found.disks.push_back(std::move(disk));
  }
  found.present = !found.disks.empty();
  return found;
}

}  // namespace probes
