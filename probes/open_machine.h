// SPDX-License-Identifier: Apache-2.0
//
// A machine root opened from a folder or from an archive of one.

#pragma once

#include <filesystem>
#include <utility>

#include "base/machine_root.h"
#include "base/result.h"

namespace probes {

/// A folder that is removed, with all in it, when its owner goes.
class TemporaryFolder {
 public:
  TemporaryFolder() = default;
  explicit TemporaryFolder(std::filesystem::path path) : path_(std::move(path)) {}
  TemporaryFolder(TemporaryFolder&& other) noexcept : path_(std::exchange(other.path_, {})) {}
  TemporaryFolder& operator=(TemporaryFolder&& other) noexcept;
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  ~TemporaryFolder();

  /// A new one, for this user only, where temporary files go.
  static base::Result<TemporaryFolder> Make();

  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

/// A root that can be read for as long as this value lives.
struct OpenedMachine {
  base::MachineRoot root;
  TemporaryFolder unpacked;  // without a path when a folder was opened
};

/// Opens a machine root: "/", a folder with sys/ in it, or a tar archive (gzip,
/// bzip2, xz or zstd) of such a folder. Archives are input from strangers:
/// ".." and absolute names, links leading outside, anything but files, folders
/// and links, more than 64 MiB or 50,000 entries are refused (kMalformed).
base::Result<OpenedMachine> OpenMachine(const std::filesystem::path& folder_or_archive);

}  // namespace probes
