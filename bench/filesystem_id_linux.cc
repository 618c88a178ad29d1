// SPDX-License-Identifier: Apache-2.0
//
// The device number of a filesystem.

#include "bench/filesystem_id.h"

#include <sys/stat.h>

#include <cerrno>
#include <cstring>

namespace bench {

base::Result<std::uint64_t> FilesystemId(const std::filesystem::path& folder) {
  struct stat status = {};
  if (stat(folder.c_str(), &status) != 0) {
    return base::Error{errno == ENOENT ? base::ErrorKind::kNotPresent : base::ErrorKind::kDenied,
                       folder.string(), std::strerror(errno)};
  }
  return static_cast<std::uint64_t>(status.st_dev);
}

}  // namespace bench
