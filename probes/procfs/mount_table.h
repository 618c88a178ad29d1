// SPDX-License-Identifier: Apache-2.0
//
// The mounts of /proc/self/mountinfo, and which of them holds a folder.

#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace probes {

/// One line of mountinfo, names with their octal escapes undone.
struct Mount {
  int id = 0;
  int parent = 0;
  int major = 0;  // of the filesystem's device; 0 = anonymous
  int minor = 0;
  std::string root;  // which part of the filesystem is mounted: "/" = all of it
  std::string mount_point;
  std::string options;        // of the mount: "rw,relatime"
  std::string filesystem;     // "ext4"
  std::string source;         // "/dev/sda1"
  std::string super_options;  // of the filesystem
};

/// Lines that are malformed are passed over.
std::vector<Mount> ParseMountInfo(std::string_view text);

/// "a\040b" -> "a b": how the kernel writes space, tab, newline and backslash.
std::string UndoOctalEscapes(std::string_view text);
/// "a b" -> "a\040b".
std::string OctalEscapes(std::string_view text);

/// The mount that shows the absolute, normal path `folder`: that with the id,
/// when given and listed; else the longest mount point above it, the last one
/// mounted there. Null when none is above it.
const Mount* FindMount(const std::vector<Mount>& mounts, std::string_view folder,
                       std::optional<int> mount_id = std::nullopt);

/// Options of mount and filesystem as they may be shown, each once, in order.
std::vector<std::string> OptionsOf(const Mount& mount);

}  // namespace probes
