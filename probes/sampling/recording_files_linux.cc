// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/recording_files.h"

#include <algorithm>
#include <array>
#include <cstddef>
#include <filesystem>
#include <string_view>
#include <system_error>

#include "base/text.h"
#include "probes/procfs/mount_table.h"
#include "probes/procfs/process_texts.h"

namespace probes {
namespace {

constexpr std::size_t kMostFiles = 24;
constexpr std::size_t kMostSockets = 256;

std::string FolderOf(int pid) {
  return "/proc/" + std::to_string(pid);
}

/// What a descriptor's link says of a file on a disk.
bool IsFile(std::string_view target) {
  constexpr std::array<std::string_view, 5> kNone{"/dev/", "/proc/", "/sys/", "/memfd:", "/SYSV"};
  return target.starts_with('/') &&
         std::none_of(kNone.begin(), kNone.end(),
                      [&](std::string_view prefix) { return target.starts_with(prefix); });
}

}  // namespace

bool RecordingFiles::Find(const std::set<int>& pids) {
  namespace fs = std::filesystem;
  ChooseBusiest();
  std::map<Key, File> found;
  sockets_.clear();
  bool any = false;
  for (const int pid : pids) {
    const std::string folder = FolderOf(pid);
    std::error_code error;
    fs::directory_iterator entry(root_.folder() / folder.substr(1) / "fd", error);
    any = any || !error;
    for (; !error && entry != fs::directory_iterator(); entry.increment(error)) {
      std::error_code gone;
      const std::string name = entry->path().filename().string();
      const auto descriptor = base::ParseInt(name);
      const std::string target = fs::read_symlink(entry->path(), gone).string();
      const auto socket = ParseSocketLink(target);
      if (socket && sockets_.size() < kMostSockets) {
        sockets_.insert(*socket);
      }
      if (!descriptor || found.size() >= kMostFiles || !IsFile(target)) {
        continue;
      }
      const Key key{pid, *descriptor};
      auto known = files_.extract(key);
      std::string info = folder;
      info.append("/fdinfo/").append(name);
      File each =
          known ? std::move(known.mapped()) : File{0, 0, 0, KeptFile(root_, std::move(info))};
      const auto text = each.info.Read();
      const auto file = text ? ParseOpenFile(*text) : std::nullopt;
      if (!file || !file->for_writing) {
        continue;
      }
      each.position = known ? each.position : file->position;
      each.grown_lately = 0;
      each.mount = file->mount;
      found.emplace(key, std::move(each));
    }
  }
  files_ = std::move(found);
  return any || pids.empty();
}

std::optional<double> RecordingFiles::Grown() {
  if (files_.empty()) {
    return std::nullopt;
  }
  std::int64_t grown = 0;
  for (auto& [key, file] : files_) {
    const auto text = file.info.Read();
    const auto now = text ? ParseOpenFile(*text) : std::nullopt;
    if (!now) {
      continue;
    }
    // Back and on again is a writer that mends its file's head.
    const std::int64_t more = std::max<std::int64_t>(0, now->position - file.position);
    file.position = now->position;
    file.grown_lately += more;
    grown += more;
  }
  return static_cast<double>(grown);
}

void RecordingFiles::ChooseBusiest() {
  const auto most = std::max_element(
      files_.begin(), files_.end(),
      [](const auto& a, const auto& b) { return a.second.grown_lately < b.second.grown_lately; });
  if (most == files_.end()) {
    busiest_ = {0, -1};
    disk_.clear();
    busiest_path_.clear();
    return;
  }
  if (most->first == busiest_ || most->second.grown_lately == 0) {
    return;
  }
  busiest_ = most->first;
  disk_ = DiskOf(busiest_.first, most->second.mount);
  busiest_path_ = FolderOf(busiest_.first) + "/fd/" + std::to_string(busiest_.second);
}

std::string RecordingFiles::DiskOf(int pid, int mount) const {
  const auto text = root_.Read(FolderOf(pid) + "/mountinfo");
  const std::vector<Mount> mounts = text ? ParseMountInfo(*text) : std::vector<Mount>();
  const auto found = std::find_if(mounts.begin(), mounts.end(),
                                  [&](const Mount& each) { return each.id == mount; });
  if (found == mounts.end()) {
    return "";
  }
  // Some file systems have a number of no disk: then their source names it.
  const std::size_t slash = found->source.rfind('/');
  auto device = root_.Resolve("/sys/dev/block/" + std::to_string(found->major) + ":" +
                              std::to_string(found->minor));
  if (!device && found->source.starts_with("/dev/")) {
    device = root_.Resolve("/sys/class/block/" + found->source.substr(slash + 1));
  }
  if (!device) {
    return "";
  }
  std::filesystem::path folder(*device);
  if (root_.Exists(folder.string() + "/partition")) {
    folder = folder.parent_path();
  }
  return folder.filename().string();
}

bool RecordingFiles::Holds(int pid, std::int64_t descriptor) const {
  return files_.contains({pid, descriptor});
}

}  // namespace probes
