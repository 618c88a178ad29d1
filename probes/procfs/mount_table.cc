// SPDX-License-Identifier: Apache-2.0

#include "probes/procfs/mount_table.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "probes/procfs/mount_options.h"

namespace probes {
namespace {

bool IsOctal(char c) {
  return c >= '0' && c <= '7';
}

/// https://docs.kernel.org/filesystems/proc.html, 3.5: optional fields end with "-".
std::optional<Mount> ParseLine(std::string_view line) {
  const auto words = base::SplitWords(line);
  const auto dash = std::find(words.begin(), words.end(), "-");
  if (dash - words.begin() < 6 || words.end() - dash < 3) {
    return std::nullopt;
  }
  const auto id = base::ParseInt(words[0]);
  const auto parent = base::ParseInt(words[1]);
  const auto colon = words[2].find(':');
  const auto major = base::ParseInt(words[2].substr(0, colon));
  const auto minor =
      colon == std::string_view::npos ? std::nullopt : base::ParseInt(words[2].substr(colon + 1));
  if (!id || !parent || !major || !minor) {
    return std::nullopt;
  }
  Mount mount;
  mount.id = static_cast<int>(*id);
  mount.parent = static_cast<int>(*parent);
  mount.major = static_cast<int>(*major);
  mount.minor = static_cast<int>(*minor);
  mount.root = UndoOctalEscapes(words[3]);
  mount.mount_point = UndoOctalEscapes(words[4]);
  mount.options = words[5];
  mount.filesystem = UndoOctalEscapes(dash[1]);
  // A filesystem without a source has an empty field there, which splitting loses.
  if (words.end() - dash >= 4) {
    mount.source = UndoOctalEscapes(dash[2]);
    mount.super_options = UndoOctalEscapes(dash[3]);
  } else {
    mount.super_options = UndoOctalEscapes(dash[2]);
  }
  return mount;
}

bool IsAbove(std::string_view mount_point, std::string_view folder) {
  if (mount_point == "/") {
    return folder.starts_with('/');
  }
  return folder.starts_with(mount_point) &&
         (folder.size() == mount_point.size() || folder[mount_point.size()] == '/');
}

}  // namespace

std::string UndoOctalEscapes(std::string_view text) {
  std::string plain;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '\\' && i + 3 < text.size() && text[i + 1] <= '3' && IsOctal(text[i + 1]) &&
        IsOctal(text[i + 2]) && IsOctal(text[i + 3])) {
      const int value = (text[i + 1] - '0') * 64 + (text[i + 2] - '0') * 8 + (text[i + 3] - '0');
      plain += static_cast<char>(value);
      i += 3;
    } else {
      plain += text[i];
    }
  }
  return plain;
}

std::string OctalEscapes(std::string_view text) {
  std::string escaped;
  for (const char c : text) {
    if (c == ' ' || c == '\t' || c == '\n' || c == '\\') {
      escaped += fmt::format("\\{:03o}", static_cast<unsigned char>(c));
    } else {
      escaped += c;
    }
  }
  return escaped;
}

std::vector<Mount> ParseMountInfo(std::string_view text) {
  std::vector<Mount> mounts;
  for (const std::string_view line : base::Split(text, '\n')) {
    if (auto mount = ParseLine(line)) {
      mounts.push_back(std::move(*mount));
    }
  }
  return mounts;
}

const Mount* FindMount(const std::vector<Mount>& mounts, std::string_view folder,
                       std::optional<int> mount_id) {
  const Mount* best = nullptr;
  for (const Mount& mount : mounts) {
    if (mount_id && mount.id == *mount_id) {
      return &mount;
    }
    if (IsAbove(mount.mount_point, folder) &&
        (best == nullptr || mount.mount_point.size() >= best->mount_point.size())) {
      best = &mount;
    }
  }
  return best;
}

std::vector<std::string> OptionsOf(const Mount& mount) {
  std::vector<std::string> options;
  for (const std::string& list : {mount.options, mount.super_options}) {
    for (const std::string_view whole : base::Split(list, ',')) {
      std::string option = ShownMountOption(whole);
      if (!option.empty() && std::find(options.begin(), options.end(), option) == options.end()) {
        options.push_back(std::move(option));
      }
    }
  }
  return options;
}

}  // namespace probes
