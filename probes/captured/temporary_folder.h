// SPDX-License-Identifier: Apache-2.0
//
// A folder that goes, with all in it, however its owner ends.

#pragma once

#include <filesystem>

#include "base/result.h"
#include "base/system/descriptor.h"

namespace probes {

/// Removed by its owner; where the whole program ends before that, killed or not, by a keeper: a
/// process that is started for it, holds nothing else, and sees its owner's end by a socket.
class TemporaryFolder {
 public:
  TemporaryFolder() = default;
  TemporaryFolder(TemporaryFolder&& other) noexcept;
  TemporaryFolder& operator=(TemporaryFolder&& other) noexcept;
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  ~TemporaryFolder();

  /// A new one, for this user only, where temporary files go.
  static base::Result<TemporaryFolder> Make();

  /// Empty for one that was not made.
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
  base::Descriptor owner_end_;
  int keeper_ = -1;  // the process's number
};

}  // namespace probes
