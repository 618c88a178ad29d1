// SPDX-License-Identifier: Apache-2.0

#include "probes/storage/captured_space.h"

#include <utility>

#include <fmt/format.h>

#include "base/text.h"

namespace probes {
namespace {

bool LiesIn(std::string_view folder, std::string_view mount_point) {
  return folder.starts_with(mount_point) &&
         (mount_point == "/" || folder.size() == mount_point.size() ||
          folder[mount_point.size()] == '/');
}

std::optional<CapturedSpace> ParseLine(std::string_view line) {
  CapturedSpace space;
  std::int64_t writable = 0;
  for (std::int64_t* value :
       {&space.size_bytes, &space.free_bytes, &space.block_bytes, &writable}) {
    const std::size_t end = line.find(' ');
    const auto number =
        end == std::string_view::npos ? std::nullopt : base::ParseInt(line.substr(0, end));
    if (!number || *number < 0) {
      return std::nullopt;
    }
    *value = *number;
    line.remove_prefix(end + 1);
  }
  if (!line.starts_with('/')) {
    return std::nullopt;
  }
  space.writable = writable != 0;
  space.mount_point = line;
  return space;
}

}  // namespace

std::vector<CapturedSpace> ParseCapturedSpace(std::string_view text) {
  std::vector<CapturedSpace> found;
  for (const std::string_view line : base::Split(text, '\n')) {
    if (auto space = ParseLine(line)) {
      found.push_back(std::move(*space));
    }
  }
  return found;
}

std::string CapturedSpaceLine(const CapturedSpace& space) {
  if (!space.mount_point.starts_with('/') || space.mount_point.find('\n') != std::string::npos) {
    return {};
  }
  return fmt::format("{} {} {} {} {}\n", space.size_bytes, space.free_bytes, space.block_bytes,
                     space.writable ? 1 : 0, space.mount_point);
}

std::optional<CapturedSpace> FindCapturedSpace(const base::MachineRoot& root,
                                               std::string_view folder) {
  const auto text = root.Read(kCapturedSpaceFile);
  if (!text) {
    return std::nullopt;
  }
  std::optional<CapturedSpace> best;
  for (CapturedSpace& space : ParseCapturedSpace(*text)) {
    const bool longer = !best || space.mount_point.size() > best->mount_point.size();
    if (LiesIn(folder, space.mount_point) && longer) {
      best = std::move(space);
    }
  }
  return best;
}

}  // namespace probes
