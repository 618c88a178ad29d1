// SPDX-License-Identifier: Apache-2.0
//
// Room on the filesystems of a captured machine, written when it was captured.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/system/machine_root.h"

namespace probes {

struct CapturedSpace {
  std::int64_t size_bytes = 0;
  std::int64_t free_bytes = 0;
  std::int64_t block_bytes = 0;
  bool writable = false;  // by who captured it
  std::string mount_point;
};

/// Where it stands in a captured machine. No kernel shows such a file: only the
/// system that runs can be asked for it.
inline constexpr const char* kCapturedSpaceFile = "/captured/filesystems";

/// One line "SIZE FREE BLOCK WRITABLE MOUNTPOINT" each; lines that are none are passed over.
std::vector<CapturedSpace> ParseCapturedSpace(std::string_view text);
/// The line of it, with its end; empty when the mount point would break it.
std::string CapturedSpaceLine(const CapturedSpace& space);

/// Of the filesystem that `folder` of a captured machine lies on; nothing when it was not written.
std::optional<CapturedSpace> FindCapturedSpace(const base::MachineRoot& root,
                                               std::string_view folder);

}  // namespace probes
