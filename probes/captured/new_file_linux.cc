// SPDX-License-Identifier: Apache-2.0
//
// open with O_EXCL and O_NOFOLLOW, renameat2.

#include "probes/captured/new_file.h"

#include <fcntl.h>
#include <stdio.h>

#include <cerrno>
#include <string>
#include <system_error>

namespace probes {
namespace {

namespace fs = std::filesystem;
using base::Done;
using base::Error;
using base::ErrorKind;

Error CannotBeMade(const fs::path& path, const std::string& why) {
  return {ErrorKind::kInvalid, path.string(),
          why + "; allowed: a new file in a folder that can be written"};
}

Error CannotBeMade(const fs::path& path, int error_number) {
  return CannotBeMade(path, "cannot be made: " + std::generic_category().message(error_number));
}

}  // namespace

bool IsThere(const fs::path& path) {
  std::error_code none;
  return fs::exists(fs::symlink_status(path, none));
}

base::Status MayBeMade(const fs::path& path, IfThere if_there) {
  std::error_code none;
  const fs::file_status there = fs::symlink_status(path, none);
  if (!fs::exists(there)) {
    return Done{};
  }
  if (fs::is_directory(there)) {
    return CannotBeMade(path, "is a folder");
  }
  if (!fs::is_regular_file(there) && !fs::is_symlink(there)) {
    return CannotBeMade(path, "is no ordinary file");
  }
  if (if_there == IfThere::kRefuse) {
    return Error{ErrorKind::kInvalid, path.string(),
                 "is there already; allowed: a new file, or --replace to write over it"};
  }
  return Done{};
}

base::Result<base::Descriptor> MakeNewFile(const fs::path& path) {
  base::Descriptor file(
      open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600));
  if (!file.open()) {
    return errno == EEXIST ? CannotBeMade(path,
                                          "is there already, from a run that was killed or "
                                          "that still goes on")
                           : CannotBeMade(path, errno);
  }
  return file;
}

base::Status PutInPlace(const fs::path& from, const fs::path& to, IfThere if_there) {
  if (auto may = MayBeMade(to, if_there); !may) {
    return may;
  }
  const unsigned flags = if_there == IfThere::kRefuse ? RENAME_NOREPLACE : 0;
  int renamed = renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), flags);
  if (renamed != 0 && errno == EINVAL) {
    renamed = rename(from.c_str(), to.c_str());  // filesystems that cannot refuse: looked at above
  }
  return renamed == 0 ? base::Status(Done{}) : base::Status(CannotBeMade(to, errno));
}

}  // namespace probes
