// SPDX-License-Identifier: Apache-2.0
//
// Which files, folders and links of a machine a capture must hold.

#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "base/system/machine_root.h"

namespace probes {

struct CaptureEntry {
  enum class Type { kFile, kFolder, kLink };
  Type type = Type::kFile;
  std::string target;  // of a link: relative, and inside
};

/// Grows by the paths that probes read, where they may be captured; each brings the links and
/// folders on its way. Paths below /proc are taken as they are named ("self" is a folder), and no
/// link in a process's folder is followed.
class CaptureList {
 public:
  explicit CaptureList(const base::MachineRoot& root) : root_(root) {}

  /// A path that a probe read, listed, resolved or asked for. Nothing when it is not there.
  void Add(std::string_view path);
  /// The small files of sys/devices/system that hwloc makes its topology from.
  void AddTopologyFiles();
  /// An empty folder, whatever the machine has there.
  void AddEmptyFolder(const std::string& path) {
    entries_[path] = {CaptureEntry::Type::kFolder, ""};
  }

  /// By path with a leading slash: folders before what is in them.
  const std::map<std::string, CaptureEntry>& entries() const { return entries_; }

 private:
  void AddProc(const std::string& path);
  void AddChildren(const std::string& folder);
  void AddFilesIn(const std::string& folder);
  std::optional<CaptureEntry> LinkAt(const std::string& path) const;
  void Take(const std::map<std::string, CaptureEntry>& way);

  const base::MachineRoot& root_;
  std::map<std::string, CaptureEntry> entries_;
};

}  // namespace probes
