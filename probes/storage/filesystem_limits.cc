// SPDX-License-Identifier: Apache-2.0

#include "probes/storage/filesystem_limits.h"

#include <array>
#include <string>

namespace probes {
namespace {

using base::Reading;

// Linux: MAX_LFS_FILESIZE of include/linux/fs.h on 64-bit machines.
constexpr std::int64_t kOffsetLimit = INT64_MAX;
constexpr std::int64_t kGiB = std::int64_t{1} << 30;

struct FixedLimit {
  std::string_view filesystem;
  std::int64_t bytes;
};

constexpr std::array<FixedLimit, 9> kFixedLimits{{
    // FAT: the directory entry's size field has 32 bits (FAT specification 1.03, DIR_FileSize).
    {"vfat", (std::int64_t{1} << 32) - 1},
    {"msdos", (std::int64_t{1} << 32) - 1},
    // exFAT specification 7.6.7: DataLength has 64 bits.
    {"exfat", kOffsetLimit},
    // https://docs.kernel.org/filesystems/xfs: 8 EiB - 1 with 64-bit offsets (from memory).
    {"xfs", kOffsetLimit},
    // btrfs(5), "maximum file size": 2^64 bytes, 2^63 by the Linux VFS.
    {"btrfs", kOffsetLimit},
    // mm/shmem.c: s_maxbytes = MAX_LFS_FILESIZE.
    {"tmpfs", kOffsetLimit},
    {"ramfs", kOffsetLimit},
    // hfsplus: s_maxbytes = MAX_LFS_FILESIZE (fs/hfsplus/super.c, from memory).
    {"hfsplus", kOffsetLimit},
    // OpenZFS: 16 EiB by its own count (from memory).
    {"zfs", kOffsetLimit},
}};

/// https://docs.kernel.org/filesystems/ext2.html, table of limits by block size.
std::int64_t Ext2Limit(std::int64_t block_bytes) {
  switch (block_bytes) {
    case 1024:
      return 16 * kGiB;
    case 2048:
      return 256 * kGiB;
    case 4096:
      return 2048 * kGiB;
    default:
      return 0;
  }
}

/// Limit of the filesystems that count 32-bit block numbers; 0: not one of them.
std::int64_t LimitByBlocks(std::string_view filesystem, std::int64_t block_bytes) {
  constexpr std::int64_t kMostBlocks = (std::int64_t{1} << 32) - 1;
  if (filesystem == "ext4") {
    // fs/ext4/super.c, ext4_max_size(): 2^32 - 1 blocks of an extent-mapped file.
    return kMostBlocks * block_bytes;
  }
  if (filesystem == "ntfs3" || filesystem == "ntfs") {
    // NTFS as implemented counts 32-bit clusters; ntfs3 shows the cluster as its block (from
    // memory).
    return kMostBlocks * block_bytes;
  }
  if (filesystem == "ext2" || filesystem == "ext3") {
    return Ext2Limit(block_bytes);
  }
  return 0;
}

bool CountsBlocks(std::string_view filesystem) {
  return LimitByBlocks(filesystem, 4096) != 0;
}

}  // namespace

Reading<std::int64_t> LargestFileBytes(std::string_view filesystem,
                                       const Reading<std::int64_t>& block_bytes) {
  for (const FixedLimit& limit : kFixedLimits) {
    if (limit.filesystem == filesystem) {
      return limit.bytes;
    }
  }
  if (!CountsBlocks(filesystem)) {
    return Reading<std::int64_t>::Unknown("no limit is on file here for this filesystem");
  }
  if (!block_bytes) {
    return Reading<std::int64_t>::Unknown("depends on its block size: " +
                                          block_bytes.why_unknown());
  }
  constexpr std::int64_t kLargestBlock = 2 << 20;  // NTFS clusters reach 2 MiB
  const std::int64_t limit = *block_bytes > 0 && *block_bytes <= kLargestBlock
                                 ? LimitByBlocks(filesystem, *block_bytes)
                                 : 0;
  return limit > 0 ? Reading<std::int64_t>(limit)
                   : Reading<std::int64_t>::Unknown("an unusual block size of " +
                                                    std::to_string(*block_bytes) + " bytes");
}

}  // namespace probes
