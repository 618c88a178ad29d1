// SPDX-License-Identifier: Apache-2.0
//
// When a file was made and last written to, by its file system.

#pragma once

#include <filesystem>
#include <optional>

namespace probes {

/// Seconds since 1970; nothing where the file system does not keep it.
struct FileTimes {
  std::optional<double> born;
  std::optional<double> written;
};

FileTimes ReadFileTimes(const std::filesystem::path& path);

}  // namespace probes
