// SPDX-License-Identifier: Apache-2.0

#include "probes/storage/storage.h"

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

#include "base/text.h"
#include "probes/procfs/mount_table.h"
#include "probes/storage/block_layers.h"
#include "probes/storage/captured_space.h"
#include "probes/storage/filesystem_limits.h"
#include "probes/storage/folder_facts.h"

namespace probes {
namespace {

using base::MachineRoot;
using base::Reading;

/// A captured machine's folder: its place, and the room that was noted when it was captured.
FolderFacts StoredFolder(const MachineRoot& root, const std::filesystem::path& folder) {
  static constexpr const char* kWhy = "a captured machine's filesystems cannot be asked";
  FolderFacts facts;
  std::string path = ("/" / folder).lexically_normal().string();
  while (path.size() > 1 && path.ends_with('/')) {
    path.pop_back();
  }
  facts.path = root.Resolve(path).value_or(path);
  facts.size_bytes = facts.free_bytes = facts.block_bytes = Reading<std::int64_t>::Unknown(kWhy);
  facts.writable = Reading<bool>::Unknown(kWhy);
  if (const auto space = FindCapturedSpace(root, facts.path.string())) {
    facts.size_bytes = space->size_bytes;
    facts.free_bytes = space->free_bytes;
    facts.block_bytes = space->block_bytes;
    facts.writable = space->writable;
  }
  return facts;
}

void FillSpace(const FolderFacts& facts, StorageInventory& storage) {
  storage.size_bytes = facts.size_bytes;
  storage.free_bytes = facts.free_bytes;
  storage.writable = facts.writable;
}

void FillUnknown(const std::string& why, StorageInventory& storage) {
  storage.mount_point = storage.filesystem = storage.filesystem_id =
      Reading<std::string>::Unknown(why);
  storage.mount_options = Reading<std::vector<std::string>>::Unknown(why);
  storage.size_bytes = storage.free_bytes = storage.largest_file_bytes =
      Reading<std::int64_t>::Unknown(why);
  storage.writable = Reading<bool>::Unknown(why);
  storage.why_no_layers = why;
}

std::string FilesystemHolding(const MachineRoot& root, const std::vector<Mount>& mounts,
                              const Mount& mount) {
  if (mount.filesystem == "overlay") {
    const auto upper = UpperMount(root, mounts, mount);
    return upper ? (*upper)->filesystem : mount.filesystem;
  }
  return mount.filesystem;
}

/// The least name of the disks that a btrfs stands on: each of its mounts may name another.
std::string FirstOfBtrfs(const MachineRoot& root, const std::string& source) {
  const std::string device = source.substr(source.find_last_of('/') + 1);
  static const std::string folder = "/sys/fs/btrfs";
  for (const std::string& name : root.List(folder).value_or({})) {
    const auto devices = root.List(folder + "/" + name + "/devices").value_or({});
    if (std::find(devices.begin(), devices.end(), device) != devices.end()) {
      return devices.front();
    }
  }
  return device;
}

/// What tells filesystems apart: the device number, except where each mount of
/// one filesystem has a number of its own.
std::string FilesystemId(const MachineRoot& root, const std::vector<Mount>& mounts,
                         const Mount& mount) {
  if (mount.filesystem == "overlay") {
    const auto upper = UpperMount(root, mounts, mount);
    if (upper && (*upper)->filesystem != "overlay") {
      return FilesystemId(root, mounts, **upper);
    }
  }
  if (mount.filesystem == "btrfs") {
    return "btrfs on " + base::Printable(FirstOfBtrfs(root, mount.source), 60);
  }
  if (mount.filesystem == "zfs") {
    return "zfs pool " + base::Printable(mount.source.substr(0, mount.source.find('/')), 60);
  }
  return std::to_string(mount.major) + ":" + std::to_string(mount.minor);
}

void FillFromMount(const MachineRoot& root, const std::vector<Mount>& mounts, const Mount& mount,
                   const FolderFacts& facts, StorageInventory& storage) {
  storage.mount_point = base::Printable(mount.mount_point);
  storage.filesystem = base::Printable(mount.filesystem, 60);
  storage.filesystem_id = FilesystemId(root, mounts, mount);
  std::vector<std::string> options = OptionsOf(mount);
  for (std::string& option : options) {
    option = base::Printable(option);
  }
  const bool read_only = std::find(options.begin(), options.end(), "ro") != options.end();
  storage.mount_options = std::move(options);
  FillSpace(facts, storage);
  storage.largest_file_bytes =
      LargestFileBytes(FilesystemHolding(root, mounts, mount), facts.block_bytes);
  if (read_only) {
    storage.writable = false;
  }
  BlockStack stack = ReadBlockStack(root, mounts, mount);
  storage.layers = std::move(stack.layers);
  storage.why_no_layers = std::move(stack.why_incomplete);
}

}  // namespace

StorageInventory ReadStorage(const MachineRoot& root, const std::filesystem::path& folder) {
  StorageInventory storage;
  storage.folder = base::Printable(folder.string());
  const auto asked =
      root.live() ? AskFolder(folder) : base::Result<FolderFacts>(StoredFolder(root, folder));
  if (!asked) {
    FillUnknown(asked.error().where + ": " + asked.error().detail, storage);
    return storage;
  }
  const auto text = root.Read("/proc/self/mountinfo", 16 << 20);
  const std::vector<Mount> mounts = ParseMountInfo(text.value_or(""));
  const Mount* mount = FindMount(mounts, asked->path.string(), asked->mount_id);
  if (mount == nullptr) {
    FillUnknown(text ? "/proc/self/mountinfo shows no mount above the folder"
                     : text.error().where + ": " + text.error().detail,
                storage);
    // The filesystem itself tells its room, whatever is shown of mounts (in a chroot: none).
    FillSpace(*asked, storage);
    if (!asked->device_number.empty()) {
      storage.filesystem_id = asked->device_number;  // two folders of one share its room
    }
    return storage;
  }
  FillFromMount(root, mounts, *mount, *asked, storage);
  return storage;
}

}  // namespace probes
