// SPDX-License-Identifier: Apache-2.0

#include "cli/system/lock_holder.h"

#include <algorithm>
#include <array>
#include <vector>

#include "base/text.h"

namespace cli {
namespace {

constexpr std::size_t kLongestName = 40;

/// "fe:00:10952888": major and minor in hexadecimal, inode in decimal digits.
bool IsFile(std::string_view text, const FileIdentity& file) {
  const auto parts = base::Split(text, ':');
  return parts.size() == 3 && base::ParseInt(parts[0], 16) == file.major &&
         base::ParseInt(parts[1], 16) == file.minor &&
         base::ParseInt(parts[2]) == static_cast<std::int64_t>(file.inode);
}

}  // namespace

// fs/locks.c of the kernel, lock_get_status(): "1: FLOCK  ADVISORY  WRITE 848 fe:00:1095 0 EOF";
// who waits for a lock has "->" behind the number.
std::optional<int> FlockHolder(std::string_view proc_locks, const FileIdentity& file) {
  for (const std::string_view line : base::Split(proc_locks, '\n')) {
    const auto words = base::SplitWords(line);
    if (words.size() < 6 || words[1] != "FLOCK" || !IsFile(words[5], file)) {
      continue;
    }
    const auto pid = base::ParseInt(words[4]);
    if (pid && *pid > 0) {
      return static_cast<int>(*pid);
    }
  }
  return std::nullopt;
}

// proc(5): the name stands in brackets and may hold anything; the start is field 22, in ticks since
// the kernel began, which "btime" tells.
std::optional<std::int64_t> BeganAt(std::string_view process_stat, std::string_view proc_stat,
                                    std::int64_t ticks_per_second) {
  constexpr std::size_t kFieldsBehindName = 22 - 3;
  const std::size_t bracket = process_stat.rfind(')');
  if (bracket == std::string_view::npos || ticks_per_second <= 0) {
    return std::nullopt;
  }
  const auto fields = base::SplitWords(process_stat.substr(bracket + 1));
  const auto ticks =
      fields.size() > kFieldsBehindName ? base::ParseInt(fields[kFieldsBehindName]) : std::nullopt;
  for (const std::string_view line : base::Split(proc_stat, '\n')) {
    const auto words = base::SplitWords(line);
    if (ticks && words.size() == 2 && words[0] == "btime") {
      const auto began = base::ParseInt(words[1]);
      return began ? std::optional(*began + *ticks / ticks_per_second) : std::nullopt;
    }
  }
  return std::nullopt;
}

std::string CommandOf(std::string_view cmdline) {
  constexpr std::array<std::string_view, 4> kLoading = {"qualify", "rehearse", "line-check",
                                                        "size"};
  const auto words = base::Split(cmdline, '\0');
  std::string_view program = words.empty() ? std::string_view() : words.front();
  program.remove_prefix(std::min(program.rfind('/') + 1, program.size()));
  const auto command =
      std::find_first_of(words.begin(), words.end(), kLoading.begin(), kLoading.end());
  if (program.starts_with("rigproof") && command != words.end()) {
    return "rigproof " + std::string(*command);
  }
  return program.empty() ? "a program" : base::Printable(program, kLongestName);
}

}  // namespace cli
