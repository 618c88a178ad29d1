// SPDX-License-Identifier: Apache-2.0
//
// The machine that probes read: this PC's "/", or a folder captured on another.

#pragma once

#include <cstddef>
#include <filesystem>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace base {

/// Paths given here are absolute inside the machine ("/sys/class/net") or the
/// same without the leading slash. Symbolic links are followed inside the
/// root only: a captured tree cannot lead a probe out of its folder.
class MachineRoot {
 public:
  /// This PC.
  static MachineRoot Live();
  /// A folder holding sys/ (and proc/ ...). kInvalid when it is no such folder.
  static Result<MachineRoot> At(const std::filesystem::path& folder);

  bool live() const { return live_; }
  const std::filesystem::path& folder() const { return folder_; }

  /// The whole file, at most `max_bytes` (kMalformed beyond). One open, reads
  /// until the end: sizes that /sys and /proc claim are not believed.
  Result<std::string> Read(std::string_view path, std::size_t max_bytes = 1 << 20) const;
  /// Read, then trimmed.
  Result<std::string> ReadTrimmed(std::string_view path) const;
  /// Read, trimmed, as a decimal integer.
  Result<std::int64_t> ReadInt(std::string_view path) const;
  /// Names in a folder, sorted in natural order ("usb2" before "usb10").
  Result<std::vector<std::string>> List(std::string_view path) const;
  /// Where a symbolic link leads, as a path inside the machine ("/sys/devices/...").
  Result<std::string> Resolve(std::string_view path) const;
  /// What a symbolic link says, which need not be a path ("socket:[77]").
  Result<std::string> LinkText(std::string_view path) const;
  bool Exists(std::string_view path) const;

  /// Calls `seen` with the machine path of every file, folder or link that
  /// is read from now on (for capture-machine).
  void OnAccess(std::function<void(std::string_view path)> seen) { seen_ = std::move(seen); }

 private:
  MachineRoot(std::filesystem::path folder, bool live) : folder_(std::move(folder)), live_(live) {}

  Result<std::filesystem::path> HostPath(std::string_view path) const;

  std::filesystem::path folder_;
  bool live_;
  std::function<void(std::string_view)> seen_;
};

}  // namespace base
