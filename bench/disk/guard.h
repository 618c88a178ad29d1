// SPDX-License-Identifier: Apache-2.0
//
// Keeps runs from filling a disk: room is what is free above a guard.

#pragma once

#include <cstdint>
#include <filesystem>

#include "base/result.h"

namespace bench {

/// What stays free on a disk of `total_bytes`, whatever is run: 2 GiB and at
/// least 5 % of it.
std::int64_t GuardBytes(std::int64_t total_bytes);

/// Free space of the filesystem that holds a folder, as this user may use it.
struct Room {
  std::int64_t total_bytes = 0;
  std::int64_t free_bytes = 0;
  /// Free above the guard; never below zero.
  std::int64_t usable_bytes() const;
};

/// kNotPresent: no such folder; kInvalid: not a folder.
base::Result<Room> ReadRoom(const std::filesystem::path& folder);

/// Whether `bytes` may be written into `folder`: it exists, is a folder, takes
/// a file (one is made and vanishes) and has the room. The error says what is
/// wrong; for a full disk how much is needed and how much is free above the guard.
base::Status CheckRoom(const std::filesystem::path& folder, std::int64_t bytes);

}  // namespace bench
