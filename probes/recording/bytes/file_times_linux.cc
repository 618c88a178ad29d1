// SPDX-License-Identifier: Apache-2.0
//
// Times of a file by statx.

#include "probes/recording/bytes/file_times.h"

#include <fcntl.h>
#include <sys/stat.h>

namespace probes {
namespace {

double Seconds(const struct statx_timestamp& at) {
  constexpr double kPerNanosecond = 1e-9;
  return static_cast<double>(at.tv_sec) + at.tv_nsec * kPerNanosecond;
}

}  // namespace

FileTimes ReadFileTimes(const std::filesystem::path& path) {
  FileTimes times;
  struct statx told {};
  if (statx(AT_FDCWD, path.c_str(), 0, STATX_BTIME | STATX_MTIME, &told) != 0) {
    return times;
  }
  if ((told.stx_mask & STATX_BTIME) != 0) {
    times.born = Seconds(told.stx_btime);
  }
  if ((told.stx_mask & STATX_MTIME) != 0) {
    times.written = Seconds(told.stx_mtime);
  }
  return times;
}

}  // namespace probes
