// SPDX-License-Identifier: Apache-2.0

#include "probes/capture_machine.h"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <optional>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "probes/archive_writer.h"
#include "probes/capture_contents.h"
#include "probes/capture_list.h"
#include "probes/captured_space.h"
#include "probes/file_watchers.h"
#include "probes/folder_facts.h"
#include "probes/mount_table.h"
#include "probes/private_names.h"
#include "probes/take_inventory.h"
#include "probes/unpack_archive.h"

namespace probes {
namespace {

using base::Error;
using base::ErrorKind;
using base::MachineRoot;
using base::Result;
using base::Status;

constexpr std::size_t kMostFileBytes = 16 << 20;
constexpr UnpackLimits kLimits;
constexpr std::size_t kMostFolders = 200;

/// Every place that a recording could go to: the layers below each are wanted.
std::vector<std::filesystem::path> MountPoints(const MachineRoot& root) {
  std::set<std::filesystem::path> points{"/"};
  const auto text = root.Read("/proc/self/mountinfo", kMostFileBytes);
  for (const Mount& mount : ParseMountInfo(text.value_or(""))) {
    if (mount.source.starts_with("/dev/") && points.size() < kMostFolders) {
      points.insert(mount.mount_point);
    }
  }
  return {points.begin(), points.end()};
}

/// Belongs to the process that captures or to others, not to the machine.
bool IsOfProcesses(const MachineRoot& root, const std::string& path) {
  if (path.starts_with("/proc/") && path.find("/fdinfo/") != std::string::npos) {
    return !IsFanotifyGroup(root.Read(path).value_or(""));
  }
  static constexpr std::array<std::string_view, 2> kFolders{"/sys/fs/cgroup", "/proc/self/cgroup"};
  return path == "/proc" || std::any_of(kFolders.begin(), kFolders.end(),
                                        [&](auto folder) { return path.starts_with(folder); });
}

PrivateNames NamesOf(const MachineRoot& root) {
  std::vector<std::string> hosts;
  for (const char* file : {"/proc/sys/kernel/hostname", "/etc/hostname"}) {
    if (const auto host = root.ReadTrimmed(file)) {
      hosts.push_back(*host);
    }
  }
  std::vector<std::string> users = ParsePeople(root.Read("/etc/passwd").value_or(""));
  for (const std::string& home : root.List("/home").value_or({})) {
    users.push_back(home);
  }
  for (const char* variable : {"USER", "SUDO_USER", "LOGNAME"}) {
    const char* user = root.live() ? std::getenv(variable) : nullptr;
    if (user != nullptr) {
      users.emplace_back(user);
    }
  }
  return PrivateNames(hosts, users);
}

CaptureList ListEntries(const MachineRoot& root) {
  std::set<std::string> seen;
  MachineRoot watched = root;
  watched.OnAccess([&seen](std::string_view path) {
    std::string whole(path);
    seen.insert(whole.starts_with('/') ? whole : "/" + whole);
  });
  InventoryRequest request;
  request.recording_folders = MountPoints(root);
  const Inventory inventory = TakeInventory(watched, request);
  CaptureList list(root);
  for (const std::string& path : seen) {
    if (!IsOfProcesses(root, path)) {
      list.Add(path);
    }
  }
  list.AddTopologyFiles();
  if (inventory.settings.file_watchers) {
    // Tells, where no process watches, that processes were looked into.
    for (const char* folder : {"/proc", "/proc/1", "/proc/1/fdinfo"}) {
      list.AddEmptyFolder(folder);
    }
  }
  return list;
}

class Capturer {
 public:
  Capturer(const MachineRoot& root, ArchiveWriter writer)
      : root_(root), names_(NamesOf(root)), writer_(std::move(writer)) {}

  Result<CaptureSummary> Run(const CaptureList& list) {
    for (const auto& [path, entry] : list.entries()) {
      const Status added = AddEntry(path, entry);
      if (!added) {
        return added.error();
      }
      if (summary_.unpacked_bytes > kLimits.bytes || entries_ > kLimits.entries) {
        return Error{ErrorKind::kInvalid, "/",
                     "this machine has more files than a captured machine may hold"};
      }
    }
    if (const Status noted = AddSpace(); !noted) {
      return noted.error();
    }
    const Status finished = writer_.Finish();
    if (!finished) {
      return finished.error();
    }
    TellLeftOut();
    return summary_;
  }

 private:
  Status AddEntry(const std::string& path, const CaptureEntry& entry) {
    const std::string name = CleanPath(path).substr(1);
    ++entries_;
    switch (entry.type) {
      case CaptureEntry::Type::kFolder:
        return writer_.AddFolder(name);
      case CaptureEntry::Type::kLink:
        ++summary_.links;
        return writer_.AddLink(name, CleanPath(entry.target));
      default:
        return AddFile(path, name);
    }
  }

  /// What a stored tree cannot be asked later: room on the filesystems of this PC.
  Status AddSpace() {
    std::string text;
    const auto points = root_.live() ? MountPoints(root_) : std::vector<std::filesystem::path>();
    for (const auto& point : points) {
      const auto facts = AskFolder(point);
      if (facts && facts->size_bytes && facts->free_bytes && facts->block_bytes &&
          facts->writable) {
        text += CapturedSpaceLine({*facts->size_bytes, *facts->free_bytes, *facts->block_bytes,
                                   *facts->writable, names_.Clean(point.string())});
      }
    }
    if (text.empty()) {
      return base::Done{};
    }
    ++summary_.files;
    summary_.unpacked_bytes += static_cast<std::int64_t>(text.size());
    return writer_.AddFile(std::string(kCapturedSpaceFile).substr(1), text);
  }

  /// Where people's own folders lie, and where folders are called by a volume's own number.
  std::string CleanPath(const std::string& path) {
    static constexpr auto kOfPeople =
        std::to_array<std::string_view>({"/home/", "/media/", "/mnt/", "/run/"});
    for (const std::string_view folder : kOfPeople) {
      if (path.starts_with(folder)) {
        return std::string(folder) + names_.Clean(path.substr(folder.size()));
      }
    }
    const std::string clean = names_.CleanAddresses(path);
    return path.find("/btrfs/") != std::string::npos ? names_.CleanUuids(clean) : clean;
  }

  Status AddFile(const std::string& path, const std::string& name) {
    const auto text = path == kNullDevice ? base::Result<std::string>(std::string())
                                          : root_.Read(path, kMostFileBytes);
    const auto content = text ? CleanContent(path, *text, names_, left_out_) : std::nullopt;
    if (!content) {
      unreadable_ += text ? 0 : 1;
      return base::Done{};
    }
    ++summary_.files;
    summary_.unpacked_bytes += static_cast<std::int64_t>(content->size());
    return writer_.AddFile(name, *content);
  }

  void TellLeftOut() {
    auto& told = summary_.left_out;
    told.emplace_back("serial numbers, MAC addresses, host and user names");
    const auto tell = [&told](std::size_t count, const char* what) {
      if (count > 0) {
        told.push_back(fmt::format("{}: {}", what, count));
      }
    };
    tell(left_out_.serial_files, "files with serial numbers, written empty");
    tell(left_out_.address_files, "files with network addresses, written empty");
    tell(names_.addresses_replaced(), "MAC addresses in names, replaced by made-up ones");
    tell(names_.names_replaced(), "host and user names, replaced by 'host' and 'user'");
    tell(left_out_.volume_ids, "identifiers of encrypted and logical volumes");
    tell(names_.uuids_replaced(), "UUIDs, replaced by made-up ones");
    tell(left_out_.network_shares, "network shares, written without server and user");
    tell(left_out_.route_lines, "routes to public addresses, apart from the default ones");
    tell(left_out_.strange_files, "binary files of which it is not known what they hold");
    tell(unreadable_, "files that could not be read just then");
    told.emplace_back("running programs, apart from those that watch files as they are opened");
  }

  const MachineRoot& root_;
  PrivateNames names_;
  ArchiveWriter writer_;
  LeftOut left_out_;
  CaptureSummary summary_;
  int entries_ = 0;
  std::size_t unreadable_ = 0;
};

}  // namespace

Result<CaptureSummary> CaptureMachine(const MachineRoot& root,
                                      const std::filesystem::path& out_archive) {
  auto writer = ArchiveWriter::Create(out_archive);
  if (!writer) {
    return writer.error();
  }
  const CaptureList list = ListEntries(root);
  return Capturer(root, std::move(*writer)).Run(list);
}

}  // namespace probes
