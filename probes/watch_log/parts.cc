// SPDX-License-Identifier: Apache-2.0

#include "probes/watch_log/parts.h"

#include <algorithm>
#include <optional>
#include <string_view>
#include <system_error>

#include <fmt/format.h>

#include "base/text.h"

namespace probes {
namespace {

constexpr std::string_view kBefore = "part-";
constexpr std::string_view kAfter = ".rigproof-log";
constexpr std::int64_t kHighest = 1'000'000'000;

std::optional<int> NumberOf(std::string_view name) {
  if (!name.starts_with(kBefore) || !name.ends_with(kAfter) ||
      name.size() <= kBefore.size() + kAfter.size()) {
    return std::nullopt;
  }
  name.remove_prefix(kBefore.size());
  name.remove_suffix(kAfter.size());
  const auto number = base::ParseInt(name);
  return number && *number > 0 && *number <= kHighest ? std::optional(static_cast<int>(*number))
                                                      : std::nullopt;
}

}  // namespace

std::string WatchPartName(int number) {
  return fmt::format("{}{:06}{}", kBefore, number, kAfter);
}

std::vector<WatchPart> ListWatchParts(const std::filesystem::path& folder) {
  std::vector<WatchPart> parts;
  std::error_code error;
  for (std::filesystem::directory_iterator entry(folder, error), end; !error && entry != end;
       entry.increment(error)) {
    const auto number = NumberOf(entry->path().filename().string());
    std::error_code gone;
    if (number && entry->is_regular_file(gone)) {
      const auto bytes = entry->file_size(gone);
      parts.push_back({entry->path(), *number, gone ? 0 : static_cast<std::int64_t>(bytes)});
    }
  }
  std::sort(parts.begin(), parts.end(),
            [](const WatchPart& a, const WatchPart& b) { return a.number < b.number; });
  return parts;
}

}  // namespace probes
