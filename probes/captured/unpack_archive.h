// SPDX-License-Identifier: Apache-2.0
//
// Unpacks the archive of a machine root: input from strangers.

#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>

#include "base/result.h"

namespace probes {

/// What an archive may hold, and what ours keep to.
struct UnpackLimits {
  std::int64_t bytes = std::int64_t{64} << 20;  // of all files together, unpacked
  int entries = 50'000;                         // folders that no entry names count, too
  int depth = 40;                               // folders inside each other; /sys has 20 or so
  std::int64_t archive_bytes = std::int64_t{128} << 20;  // as it lies on the disk
};

/// Unpacks a tar archive (plain, gzip, bzip2, xz or zstd) below the folder
/// `into`, which must be empty. kMalformed, with the entry named, for
/// anything but files, folders and links that stay inside, for an entry that
/// comes twice, for what is compressed more than once, and beyond the
/// limits above; then some of it may lie in `into`.
base::Status UnpackArchive(const std::filesystem::path& archive, const std::filesystem::path& into,
                           const UnpackLimits& limits = {});

/// "./sys//class" -> "sys/class"; kMalformed for absolute names, "..", and
/// names with a zero byte. "" for the top itself.
base::Result<std::string> CheckEntryName(std::string_view name);

/// Whether the link `name` -> `target` stays inside whatever other links
/// there are: relative, with ".." only at its start and not above the top.
bool LinkStaysInside(std::string_view name, std::string_view target);

}  // namespace probes
