// SPDX-License-Identifier: Apache-2.0

#include "probes/settings/file_watchers.h"

#include <algorithm>
#include <string>

#include <fmt/format.h>

#include "base/text.h"

namespace probes {
namespace {

enum class Look { kWatches, kDoesNot, kRefused, kGone };

Look LookInto(const base::MachineRoot& root, const std::string& folder) {
  const auto descriptors = root.List(folder + "/fdinfo");
  if (!descriptors) {
    return descriptors.error().kind == base::ErrorKind::kDenied ? Look::kRefused : Look::kGone;
  }
  for (const std::string& descriptor : *descriptors) {
    // Thousands of descriptors lead elsewhere: their links tell so in one call each.
    const auto link = root.LinkText(fmt::format("{}/fd/{}", folder, descriptor));
    if (link && *link != "anon_inode:[fanotify]") {
      continue;
    }
    const auto text = root.Read(fmt::format("{}/fdinfo/{}", folder, descriptor));
    if (text && IsFanotifyGroup(*text)) {
      return Look::kWatches;
    }
    if (!text && text.error().kind == base::ErrorKind::kDenied) {
      return Look::kRefused;
    }
  }
  return Look::kDoesNot;
}

}  // namespace

bool IsFanotifyGroup(std::string_view fdinfo_text) {
  // https://docs.kernel.org/filesystems/proc.html, 3.8: "fanotify flags:10 event-flags:0".
  const auto lines = base::Split(fdinfo_text, '\n');
  return std::any_of(lines.begin(), lines.end(),
                     [](std::string_view line) { return line.starts_with("fanotify "); });
}

base::Reading<std::vector<FileWatcher>> ReadFileWatchers(const base::MachineRoot& root) {
  const auto names = root.List("/proc");
  if (!names) {
    return base::Result<std::vector<FileWatcher>>(names.error());
  }
  std::vector<FileWatcher> watchers;
  int looked = 0;
  int refused = 0;
  for (const std::string& name : *names) {
    const auto pid = base::ParseInt(name);
    if (!pid || *pid <= 0 || *pid > INT32_MAX) {
      continue;
    }
    const std::string folder = "/proc/" + name;
    const Look look = LookInto(root, folder);
    looked += look == Look::kGone ? 0 : 1;
    refused += look == Look::kRefused ? 1 : 0;
    if (look == Look::kWatches) {
      const auto process = root.ReadTrimmed(folder + "/comm");
      watchers.push_back(
          {process ? base::Printable(*process, 60) : "process " + name, static_cast<int>(*pid)});
    }
  }
  if (looked == 0) {
    return base::Reading<std::vector<FileWatcher>>::Unknown("no process could be looked into");
  }
  if (watchers.empty() && refused > 0) {
    return base::Reading<std::vector<FileWatcher>>::Unknown("this user may not look into " +
                                                            std::to_string(refused) + " of " +
                                                            std::to_string(looked) + " processes");
  }
  return watchers;
}

}  // namespace probes
