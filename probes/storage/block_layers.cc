// SPDX-License-Identifier: Apache-2.0

#include "probes/storage/block_layers.h"

#include <algorithm>
#include <array>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "probes/procfs/mount_options.h"
#include "probes/sysfs/device_place.h"

namespace probes {
namespace {

using base::Error;
using base::ErrorKind;
using base::MachineRoot;
using base::Reading;
using base::Result;

constexpr std::size_t kMostLayers = 256;
constexpr int kMostMountsDown = 4;  // loop file on a loop file on ...

std::string_view LastPart(std::string_view path) {
  return path.substr(path.find_last_of('/') + 1);
}

bool HasPart(std::string_view path, std::string_view prefix, bool digit_follows) {
  const auto parts = base::Split(path, '/');
  return std::any_of(parts.begin(), parts.end(), [&](std::string_view part) {
    return part.starts_with(prefix) &&
           (!digit_follows || (part.size() > prefix.size() && part[prefix.size()] >= '0' &&
                               part[prefix.size()] <= '9'));
  });
}

struct PathSign {
  std::string_view part;  // how a folder on the path begins
  bool digit_follows;
  const char* transport;
};

// Order matters: a SATA disk behind USB, or SCSI over virtio, is the outer one.
constexpr std::array<PathSign, 8> kPathSigns{{{"ata", true, "sata"},
                                              {"mmc_host", false, "mmc"},
                                              {"virtio", true, "virtio"},
                                              {"end_device-", false, "sas"},
                                              {"rport-", false, "fc"},
                                              {"session", true, "iscsi"},
                                              {"vbd-", true, "xen"},
                                              {"target", true, "scsi"}}};

/// Namespaces of NVMe with several paths hang below a virtual subsystem; its
/// links "nvme0" lead to the controllers.
std::string NvmeController(const MachineRoot& root, const std::string& device) {
  std::string parent = device.substr(0, device.find_last_of('/'));
  if (!device.starts_with("/sys/devices/virtual/nvme-subsystem/")) {
    return parent;
  }
  for (const std::string& name : root.List(parent).value_or({})) {
    if (name.starts_with("nvme") && base::ParseInt(name.substr(4))) {
      return root.Resolve(fmt::format("{}/{}", parent, name)).value_or(parent);
    }
  }
  return parent;
}

Reading<std::string> ReadTransport(const MachineRoot& root, const std::string& path,
                                   const DevicePlace& place) {
  if (!place.usb_path.empty()) {
    return std::string("usb");
  }
  if (LastPart(path).starts_with("nvme")) {
    const auto wire = root.ReadTrimmed(NvmeController(root, path) + "/transport");
    if (!wire) {
      return wire;
    }
    return *wire == "pcie" ? std::string("nvme") : "nvme-" + base::Printable(*wire, 20);
  }
  for (const PathSign& sign : kPathSigns) {
    if (HasPart(path, sign.part, sign.digit_follows)) {
      return std::string(sign.transport);
    }
  }
  return Reading<std::string>::Unknown("nothing on the device's path tells");
}

std::string KindOfDevice(const MachineRoot& root, const std::string& path) {
  if (root.Exists(path + "/partition")) {
    return "partition";
  }
  if (root.Exists(path + "/dm")) {
    return KindOfDeviceMapper(root.ReadTrimmed(path + "/dm/uuid").value_or(""));
  }
  if (root.Exists(path + "/md")) {
    return "raid";
  }
  if (LastPart(path).starts_with("loop")) {
    return "loop";
  }
  return path.starts_with("/sys/devices/virtual/block/") ? "virtual" : "disk";
}

std::string ReadModel(const MachineRoot& root, const std::string& path) {
  for (const char* file : {"/device/model", "/device/name"}) {
    const auto model = root.ReadTrimmed(path + file);
    if (model && !model->empty()) {
      return base::Printable(*model, 80);
    }
  }
  return "";
}

BlockLayer ReadLayer(const MachineRoot& root, const std::string& path) {
  BlockLayer layer;
  layer.name = base::Printable(LastPart(path), 60);
  layer.kind = KindOfDevice(root, path);
  const bool partition = layer.kind == "partition" && root.Exists(path + "/partition");
  const std::string disk = partition ? path.substr(0, path.find_last_of('/')) : path;
  DevicePlace place = PlaceOf(path);
  if (LastPart(disk).starts_with("nvme")) {
    place = PlaceOf(NvmeController(root, disk));
  }
  if (path.starts_with("/sys/devices/virtual/block/")) {
    layer.transport = Reading<std::string>::Unknown("a layer above the disks has none of its own");
  } else {
    layer.transport = ReadTransport(root, disk, place);
  }
  if (layer.kind == "disk") {
    layer.model = ReadModel(root, path);
  }
  const auto rotational = root.ReadInt(disk + "/queue/rotational");
  layer.rotational = rotational ? Reading<bool>(*rotational != 0)
                                : Reading<bool>(Result<bool>(rotational.error()));
  const auto sectors = root.ReadInt(path + "/size");
  if (sectors && *sectors >= 0 && *sectors <= INT64_MAX / 512) {
    layer.size_bytes = *sectors * 512;  // the kernel's unit here, whatever the disk's own
  } else {
    layer.size_bytes = Reading<std::int64_t>::Unknown("no size is told");
  }
  layer.usb_path = std::move(place.usb_path);
  layer.pci_address = std::move(place.pci_address);
  return layer;
}

/// The device-mapper device that is called `name`.
Result<std::string> FindMapped(const MachineRoot& root, std::string_view name) {
  for (const std::string& device : root.List("/sys/class/block").value_or({})) {
    if (device.starts_with("dm-") &&
        root.ReadTrimmed("/sys/class/block/" + device + "/dm/name").value_or("") == name) {
      return device;
    }
  }
  return Error{ErrorKind::kNotPresent, "/sys/class/block",
               "no mapped device is called " + base::Printable(name, 60)};
}

/// The kernel's name of the block device that `mount` stands on.
Result<std::string> DeviceOfMount(const MachineRoot& root, const Mount& mount) {
  if (mount.major != 0) {
    const std::string number = std::to_string(mount.major) + ":" + std::to_string(mount.minor);
    if (const auto path = root.Resolve("/sys/dev/block/" + number)) {
      return std::string(LastPart(*path));
    }
  }
  static constexpr std::string_view kDev = "/dev/";
  static constexpr std::string_view kMapper = "/dev/mapper/";
  if (mount.source.starts_with(kMapper)) {
    return FindMapped(root, std::string_view(mount.source).substr(kMapper.size()));
  }
  if (mount.source.starts_with(kDev)) {
    std::string name = mount.source.substr(kDev.size());
    std::replace(name.begin(), name.end(), '/', '!');
    return name;
  }
  // Any other source may name a server, a person and a password.
  const std::string source =
      IsBareWord(mount.source) ? " (source '" + base::Printable(mount.source, 80) + "')" : "";
  return Error{ErrorKind::kUnsupported, "",
               base::Printable(mount.filesystem, 40) + " names no disk" + source};
}

class StackReader {
 public:
  StackReader(const MachineRoot& root, const std::vector<Mount>& mounts)
      : root_(root), mounts_(mounts) {}

  void DescendMount(const Mount& mount) {
    if (++mounts_down_ > kMostMountsDown) {
      stack_.why_incomplete = "too many files that hold filesystems inside each other";
      return;
    }
    if (mount.filesystem == "overlay") {
      const auto upper = UpperMount(root_, mounts_, mount);
      if (upper) {
        DescendMount(**upper);
      } else {
        stack_.why_incomplete = upper.error().detail;
      }
      return;
    }
    const auto device = DeviceOfMount(root_, mount);
    if (!device) {
      stack_.why_incomplete = device.error().detail;
      return;
    }
    Descend(*device);
    if (mount.filesystem == "btrfs") {
      DescendOthersOfBtrfs(*device);
    }
  }

  void DescendDevice(const std::string& name) {
    Mount source;
    source.source = name.starts_with('/') ? name : "/dev/" + name;
    const auto device = DeviceOfMount(root_, source);
    if (device) {
      Descend(*device);
    } else {
      stack_.why_incomplete = device.error().detail;
    }
  }

  BlockStack Take() { return std::move(stack_); }

 private:
  /// A btrfs names one device as its source and may stand on several.
  void DescendOthersOfBtrfs(const std::string& device) {
    static const std::string folder = "/sys/fs/btrfs";
    for (const std::string& name : root_.List(folder).value_or({})) {
      const auto devices = root_.List(fmt::format("{}/{}/devices", folder, name)).value_or({});
      if (std::find(devices.begin(), devices.end(), device) == devices.end()) {
        continue;
      }
      for (const std::string& other : devices) {
        Descend(other);
      }
    }
  }

  /// Depth first with a list instead of recursion: a captured tree may hold a loop of layers.
  void Descend(const std::string& device) {
    std::vector<std::string> pending{device};
    while (!pending.empty() && stack_.layers.size() < kMostLayers) {
      const std::string name = std::move(pending.back());
      pending.pop_back();
      const auto path = root_.Resolve("/sys/class/block/" + name);
      if (!path) {
        stack_.why_incomplete = "/sys/class/block has no " + base::Printable(name, 60);
        continue;
      }
      if (!seen_.insert(*path).second) {
        continue;
      }
      stack_.layers.push_back(ReadLayer(root_, *path));
      const auto below = Below(*path, stack_.layers.back().kind);
      pending.insert(pending.end(), below.rbegin(), below.rend());
    }
  }

  std::vector<std::string> Below(const std::string& path, const std::string& kind) {
    if (kind == "partition" && root_.Exists(path + "/partition")) {
      const std::string parent = path.substr(0, path.find_last_of('/'));
      return {std::string(LastPart(parent))};
    }
    if (kind == "loop") {
      DescendFile(path);
      return {};
    }
    return root_.List(path + "/slaves").value_or({});
  }

  void DescendFile(const std::string& loop) {
    const auto file = root_.ReadTrimmed(loop + "/loop/backing_file");
    const Mount* mount = file ? FindMount(mounts_, *file) : nullptr;
    if (mount == nullptr) {
      stack_.why_incomplete = "the file behind " + std::string(LastPart(loop)) + " is not told";
      return;
    }
    DescendMount(*mount);
  }

  const MachineRoot& root_;
  const std::vector<Mount>& mounts_;
  std::set<std::string> seen_;
  BlockStack stack_;
  int mounts_down_ = 0;
};

}  // namespace

std::string KindOfDeviceMapper(std::string_view uuid) {
  struct Prefix {
    std::string_view text;
    const char* kind;
  };
  // cryptsetup, LVM2, multipath-tools, dmraid and kpartx write these (each from memory).
  static constexpr std::array<Prefix, 5> kPrefixes{{{"CRYPT-", "crypt"},
                                                    {"LVM-", "lvm"},
                                                    {"mpath-", "multipath"},
                                                    {"DMRAID-", "raid"},
                                                    {"part", "partition"}}};
  for (const Prefix& prefix : kPrefixes) {
    if (uuid.starts_with(prefix.text)) {
      return prefix.kind;
    }
  }
  return "virtual";
}

Result<const Mount*> UpperMount(const MachineRoot& root, const std::vector<Mount>& mounts,
                                const Mount& overlay) {
  static constexpr std::string_view kUpper = "upperdir=";
  for (const std::string_view option : base::Split(overlay.super_options, ',')) {
    if (!option.starts_with(kUpper)) {
      continue;
    }
    const std::string folder(option.substr(kUpper.size()));
    const Mount* mount = root.Exists(folder) ? FindMount(mounts, folder) : nullptr;
    if (mount == nullptr || mount->id == overlay.id) {
      return Error{ErrorKind::kNotPresent, "",
                   "an overlay whose upper folder cannot be seen from here: " +
                       base::Printable(folder, 120)};
    }
    return mount;
  }
  return Error{ErrorKind::kNotPresent, "", "an overlay without an upper folder"};
}

BlockStack ReadBlockStack(const MachineRoot& root, const std::vector<Mount>& mounts,
                          const Mount& mount) {
  StackReader reader(root, mounts);
  reader.DescendMount(mount);
  return reader.Take();
}

BlockLayer ReadBlockDevice(const MachineRoot& root, const std::string& path) {
  return ReadLayer(root, path);
}

BlockStack ReadDeviceStack(const MachineRoot& root, const std::vector<Mount>& mounts,
                           const std::string& device) {
  StackReader reader(root, mounts);
  reader.DescendDevice(device);
  return reader.Take();
}

}  // namespace probes
