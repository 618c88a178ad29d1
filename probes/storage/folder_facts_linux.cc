// SPDX-License-Identifier: Apache-2.0

#include "probes/storage/folder_facts.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <sys/sysmacros.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <string>
#include <system_error>

namespace probes {
namespace {

std::optional<int> MountId(const std::filesystem::path& folder) {
#ifdef STATX_MNT_ID
  struct statx answer {};
  if (statx(AT_FDCWD, folder.c_str(), 0, STATX_MNT_ID, &answer) == 0 &&
      (answer.stx_mask & STATX_MNT_ID) != 0) {
    return static_cast<int>(answer.stx_mnt_id);
  }
#endif
  return std::nullopt;
}

std::string DeviceNumber(const std::filesystem::path& folder) {
  struct stat answer {};
  return stat(folder.c_str(), &answer) == 0
             ? std::to_string(major(answer.st_dev)) + ":" + std::to_string(minor(answer.st_dev))
             : std::string();
}

std::int64_t Bytes(fsblkcnt_t blocks, unsigned long block_bytes) {
  const std::uint64_t most = block_bytes == 0 ? 0 : INT64_MAX / block_bytes;
  return blocks > most ? INT64_MAX : static_cast<std::int64_t>(blocks * block_bytes);
}

}  // namespace

base::Result<FolderFacts> AskFolder(const std::filesystem::path& folder) {
  std::error_code code;
  FolderFacts facts;
  facts.path = std::filesystem::canonical(folder, code);
  if (code) {
    return base::Error{code == std::errc::permission_denied ? base::ErrorKind::kDenied
                                                            : base::ErrorKind::kNotPresent,
                       folder.string(), code.message()};
  }
  if (!std::filesystem::is_directory(facts.path, code)) {
    return base::Error{base::ErrorKind::kInvalid, folder.string(), "not a folder"};
  }
  facts.mount_id = MountId(facts.path);
  facts.device_number = DeviceNumber(facts.path);
  struct statvfs room {};
  if (statvfs(facts.path.c_str(), &room) == 0) {
    facts.size_bytes = Bytes(room.f_blocks, room.f_frsize);
    facts.free_bytes = Bytes(room.f_bavail, room.f_frsize);
    facts.block_bytes = static_cast<std::int64_t>(room.f_bsize);
    facts.writable = (room.f_flag & ST_RDONLY) == 0 && access(facts.path.c_str(), W_OK) == 0;
  } else {
    const std::string why = std::generic_category().message(errno);
    facts.size_bytes = facts.free_bytes = facts.block_bytes =
        base::Reading<std::int64_t>::Unknown(why);
    facts.writable = base::Reading<bool>::Unknown(why);
  }
  return facts;
}

}  // namespace probes
