// SPDX-License-Identifier: Apache-2.0

#include "probes/captured/capture_machine.h"

#include <algorithm>
#include <cstdlib>
#include <optional>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "probes/captured/archive_writer.h"
#include "probes/captured/capture_admission.h"
#include "probes/captured/capture_contents.h"
#include "probes/captured/capture_list.h"
#include "probes/captured/private_names.h"
#include "probes/captured/private_paths.h"
#include "probes/captured/unpack_archive.h"
#include "probes/line/captured_modes.h"
#include "probes/procfs/mount_table.h"
#include "probes/settings/file_watchers.h"
#include "probes/settings/unit_files.h"
#include "probes/storage/captured_space.h"
#include "probes/storage/disk_health.h"
#include "probes/storage/disks.h"
#include "probes/storage/folder_facts.h"
#include "probes/take_inventory.h"

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

/// Belongs to a process that watches no files.
bool IsOfOtherProcess(const MachineRoot& root, const std::string& path) {
  return MayBeCaptured(path) && path.find("/fdinfo/") != std::string::npos &&
         !IsFanotifyGroup(root.Read(path).value_or(""));
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

struct Seen {
  CaptureList entries;
  std::string driver_modes;  // what drivers answered, as it is written; empty: none was asked
};

Seen LookAround(const MachineRoot& root, const ModeAsker& ask_modes) {
  std::set<std::string> seen;
  MachineRoot watched = root;
  watched.OnAccess([&seen](std::string_view path) {
    std::string whole(path);
    seen.insert(whole.starts_with('/') ? whole : "/" + whole);
  });
  InventoryRequest request;
  request.recording_folders = MountPoints(root);
  request.ask_modes = ask_modes;
  const Inventory inventory = TakeInventory(watched, request);
  CaptureList list(root);
  for (const std::string& path : seen) {
    if (!IsOfOtherProcess(root, path)) {
      list.Add(path);
    }
  }
  list.AddTopologyFiles();
  list.AddEmptyFolder("/sys");  // without it nobody takes it for a machine
  if (UnitsKnownNotToRun(root)) {
    list.AddEmptyFolder(kUnitsNotRun);
  }
  if (inventory.settings.file_watchers) {
    // Tells, where no process watches, that processes were looked into.
    for (const char* folder : {"/proc", "/proc/1", "/proc/1/fdinfo"}) {
      list.AddEmptyFolder(folder);
    }
  }
  return {std::move(list),
          root.live() || ask_modes ? CapturedModesText(inventory.usb) : std::string()};
}

class Capturer {
 public:
  Capturer(const MachineRoot& root, ArchiveWriter writer)
      : root_(root), names_(NamesOf(root)), writer_(std::move(writer)) {}

  Result<CaptureSummary> Run(const Seen& seen, const std::stop_token& stop) {
    for (const auto& [path, entry] : seen.entries.entries()) {
      if (stop.stop_requested()) {
        return Error{ErrorKind::kIo, "", "ended before the archive was whole: nothing was written"};
      }
      const Status added = AddEntry(path, entry);
      if (!added) {
        return added.error();
      }
      if (summary_.unpacked_bytes > kLimits.bytes || entries_ > kLimits.entries) {
        return Error{ErrorKind::kInvalid, "/",
                     "this machine has more files than a captured machine may hold"};
      }
    }
    for (const auto& [file, text] :
         {std::pair{kCapturedSpaceFile, Space()}, std::pair{kCapturedDisksFile, Disks()},
          std::pair{kCapturedModesFile, seen.driver_modes}}) {
      if (const Status noted = AddNoted(file, text); !noted) {
        return noted.error();
      }
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
    const std::string clean = CleanPath(path, names_);
    if (!written_.insert(clean).second) {
      return base::Done{};  // two people's folders have one name now
    }
    const std::string name = clean.substr(1);
    ++entries_;
    switch (entry.type) {
      case CaptureEntry::Type::kFolder:
        return writer_.AddFolder(name);
      case CaptureEntry::Type::kLink:
        ++summary_.links;
        return writer_.AddLink(name, CleanTarget(path, entry.target));
      default:
        return AddFile(path, name);
    }
  }

  /// What a stored tree cannot be asked later.
  Status AddNoted(std::string_view file, const std::string& text) {
    if (text.empty()) {
      return base::Done{};
    }
    ++summary_.files;
    summary_.unpacked_bytes += static_cast<std::int64_t>(text.size());
    return writer_.AddFile(std::string(file.substr(1)), text);
  }

  /// Room on the filesystems of this PC.
  std::string Space() {
    std::string text;
    const auto points = root_.live() ? MountPoints(root_) : std::vector<std::filesystem::path>();
    for (const auto& point : points) {
      const auto facts = AskFolder(point);
      if (facts && facts->size_bytes && facts->free_bytes && facts->block_bytes &&
          facts->writable) {
        text += CapturedSpaceLine({*facts->size_bytes, *facts->free_bytes, *facts->block_bytes,
                                   *facts->writable, CleanPath(point.string(), names_)});
      }
    }
    return text;
  }

  /// What disks said of their health just now; no serial numbers are part of it.
  std::string Disks() const {
    std::string text;
    const DiskInventory found = root_.live() ? ReadDisks(root_) : DiskInventory();
    for (const Disk& disk : found.disks) {
      text += CapturedHealthLine(disk.device.name, disk.health);
    }
    return text;
  }

  /// Leads to the same place as it is called in the archive.
  std::string CleanTarget(const std::string& link, const std::string& target) {
    namespace fs = std::filesystem;
    const fs::path folder = fs::path(link).parent_path();
    const std::string whole = (folder / target).lexically_normal().string();
    const std::string clean = CleanPath(whole, names_);
    return clean == whole
               ? target
               : fs::path(clean).lexically_relative(CleanPath(folder.string(), names_)).string();
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
    told.emplace_back("serial numbers, host and user names, addresses of networks and mail, URLs");
    told.emplace_back("settings and comments that nothing here reads");
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
    tell(left_out_.mounts.network_shares, "network shares, written without server and user");
    tell(left_out_.mounts.sources, "sources of mounts that are no devices");
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
  std::set<std::string> written_;
  int entries_ = 0;
  std::size_t unreadable_ = 0;
};

}  // namespace

Result<CaptureSummary> CaptureMachine(const MachineRoot& root,
                                      const std::filesystem::path& out_archive, IfThere if_there,
                                      const std::stop_token& stop, const ModeAsker& ask_modes) {
  auto writer = ArchiveWriter::Create(out_archive, if_there);
  if (!writer) {
    return writer.error();
  }
  return Capturer(root, std::move(*writer)).Run(LookAround(root, ask_modes), stop);
}

}  // namespace probes
