// SPDX-License-Identifier: Apache-2.0

#include "probes/procfs/mount_options.h"

#include <algorithm>
#include <array>
#include <cctype>

namespace probes {
namespace {

constexpr auto kOptionKeys = std::to_array<std::string_view>({"active_logs",
                                                              "alloc_mode",
                                                              "allocsize",
                                                              "background_gc",
                                                              "barrier",
                                                              "codepage",
                                                              "commit",
                                                              "compress",
                                                              "compress-force",
                                                              "data",
                                                              "data_err",
                                                              "delaylog",
                                                              "discard",
                                                              "dmask",
                                                              "errors",
                                                              "fmask",
                                                              "fsync_mode",
                                                              "huge",
                                                              "init_itable",
                                                              "inode_readahead_blks",
                                                              "iocharset",
                                                              "jqfmt",
                                                              "logbsize",
                                                              "logbufs",
                                                              "max_batch_time",
                                                              "max_inline",
                                                              "min_batch_time",
                                                              "mode",
                                                              "nls",
                                                              "nr_blocks",
                                                              "nr_inodes",
                                                              "ptmxmode",
                                                              "resgid",
                                                              "resuid",
                                                              "shortname",
                                                              "size",
                                                              "space_cache",
                                                              "stripe",
                                                              "subvolid",
                                                              "sunit",
                                                              "swidth",
                                                              "thread_pool",
                                                              "umask"});
constexpr auto kPathKeys = std::to_array<std::string_view>({"subvol", "upperdir"});

template <std::size_t N>
bool IsOneOf(std::string_view word, const std::array<std::string_view, N>& words) {
  return std::find(words.begin(), words.end(), word) != words.end();
}

}  // namespace

bool IsMadeOf(std::string_view text, std::string_view marks, std::size_t longest) {
  return !text.empty() && text.size() <= longest &&
         std::all_of(text.begin(), text.end(), [&](unsigned char c) {
           return std::isalnum(c) != 0 ||
                  marks.find(static_cast<char>(c)) != std::string_view::npos;
         });
}

std::string ShownMountOption(std::string_view option) {
  constexpr std::size_t kLongestKey = 24;
  constexpr std::size_t kLongestValue = 40;
  const std::size_t equals = option.find('=');
  const std::string_view key = option.substr(0, equals);
  if (!IsMadeOf(key, "_-", kLongestKey)) {
    return "";
  }
  if (equals == std::string_view::npos) {
    return std::string(key);
  }
  const std::string_view value = option.substr(equals + 1);
  const bool known = (IsOneOf(key, kPathKeys) && value.starts_with('/')) ||
                     (IsOneOf(key, kOptionKeys) && IsMadeOf(value, "_-.:%", kLongestValue));
  return std::string(known ? option : key);
}

bool IsBareWord(std::string_view source) {
  constexpr std::size_t kLongest = 60;
  return IsMadeOf(source, "_-", kLongest);
}

}  // namespace probes
