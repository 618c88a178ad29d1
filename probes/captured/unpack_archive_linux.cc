// SPDX-License-Identifier: Apache-2.0

#include "probes/captured/unpack_archive.h"

#include <archive.h>
#include <archive_entry.h>
#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <functional>
#include <memory>
#include <set>
#include <system_error>
#include <utility>
#include <vector>

#include "base/text.h"

namespace probes {
namespace {

namespace fs = std::filesystem;
using base::Done;
using base::Error;
using base::ErrorKind;
using base::Result;
using base::Status;

constexpr std::size_t kLongestName = 4095;  // PATH_MAX of Linux, without its zero byte

struct FreeArchive {
  void operator()(struct archive* archive) const { archive_read_free(archive); }
};
using ArchiveHandle = std::unique_ptr<struct archive, FreeArchive>;

/// A file that is being written; closed when it goes.
class OutFile {
 public:
  explicit OutFile(const fs::path& path)
      : descriptor_(
            open(path.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600)) {}
  ~OutFile() {
    if (descriptor_ >= 0) {
      close(descriptor_);
    }
  }
  OutFile(const OutFile&) = delete;
  OutFile& operator=(const OutFile&) = delete;

  bool opened() const { return descriptor_ >= 0; }
  bool Write(std::string_view bytes) {
    while (!bytes.empty()) {
      const ssize_t wrote = write(descriptor_, bytes.data(), bytes.size());
      if (wrote < 0 && errno != EINTR) {
        return false;
      }
      bytes.remove_prefix(wrote > 0 ? static_cast<std::size_t>(wrote) : 0);
    }
    return true;
  }

 private:
  int descriptor_;
};

class Unpacker {
 public:
  Unpacker(const fs::path& archive, fs::path into, const UnpackLimits& limits)
      : where_(archive.string()), into_(std::move(into)), limits_(limits) {}

  Status Run() {
    const ArchiveHandle handle(archive_read_new());
    if (handle == nullptr) {
      return Error{ErrorKind::kIo, where_, "out of memory"};
    }
    struct archive* archive = handle.get();
    if (Status opened = Open(archive); !opened) {
      return opened;
    }
    struct archive_entry* entry = nullptr;
    for (;;) {
      const int state = archive_read_next_header(archive, &entry);
      if (state == ARCHIVE_EOF) {
        return MakeLinks();
      }
      if (state != ARCHIVE_OK && state != ARCHIVE_WARN) {
        return LibraryError(archive);
      }
      Status taken = Take(archive, entry);
      if (!taken) {
        return taken;
      }
    }
  }

 private:
  Status Open(struct archive* archive) const {
    std::error_code code;
    const auto size = fs::file_size(where_, code);
    if (!code && static_cast<std::uintmax_t>(limits_.archive_bytes) < size) {
      return Error{ErrorKind::kMalformed, where_,
                   "larger than " + std::to_string(limits_.archive_bytes) + " bytes"};
    }
    archive_read_support_format_tar(archive);
    archive_read_support_filter_gzip(archive);
    archive_read_support_filter_bzip2(archive);
    archive_read_support_filter_xz(archive);
    archive_read_support_filter_zstd(archive);
    if (archive_read_open_filename(archive, where_.c_str(), 65536) != ARCHIVE_OK) {
      return LibraryError(archive);
    }
    // The library counts the plain file as one. Every further layer could be a thousand times
    // larger than the one before without a byte of it in the end.
    if (archive_filter_count(archive) > 2) {
      return Error{ErrorKind::kMalformed, where_, "compressed more than once"};
    }
    return Done{};
  }

  Error LibraryError(struct archive* archive) const {
    const char* text = archive_error_string(archive);
    return Error{ErrorKind::kMalformed, where_,
                 "not a tar archive that can be read: " +
                     base::Printable(text == nullptr ? "no reason given" : text)};
  }

  Error Refuse(std::string_view name, const std::string& why) const {
    return Error{ErrorKind::kMalformed, where_,
                 "entry '" + base::Printable(name, 120) + "' " + why};
  }

  Status Take(struct archive* archive, struct archive_entry* entry) {
    if (Status counted = Count(); !counted) {
      return counted;
    }
    const char* raw_name = archive_entry_pathname(entry);
    const std::string_view raw = raw_name == nullptr ? "" : raw_name;
    const auto name = CheckEntryName(raw);
    if (!name || raw.empty()) {
      return Refuse(raw, name ? "has no name" : name.error().detail);
    }
    const auto depth = std::count(name->begin(), name->end(), '/');
    if (raw.size() > kLongestName || depth > limits_.depth) {
      return Refuse(raw, "lies deeper than " + std::to_string(limits_.depth) +
                             " folders, or its name is too long");
    }
    if (!names_.insert(*name).second) {
      return Refuse(raw, "comes twice");
    }
    if (archive_entry_hardlink(entry) != nullptr) {
      return Refuse(raw, "is a hard link; only files, folders and symbolic links are allowed");
    }
    // Only files have content for the library, whatever sizes other entries claim.
    switch (archive_entry_filetype(entry)) {
      case AE_IFDIR:
        return MakeFolder(*name);
      case AE_IFLNK:
        return NoteLink(*name, archive_entry_symlink(entry));
      case AE_IFREG:
        return WriteFile(archive, *name);
      default:
        return Refuse(raw,
                      "is a device, fifo or socket; only files, folders and symbolic links are "
                      "allowed");
    }
  }

  Status Count() {
    if (++entries_ > limits_.entries) {
      return Error{ErrorKind::kMalformed, where_,
                   "more than " + std::to_string(limits_.entries) + " entries"};
    }
    return Done{};
  }

  /// With the folders above it. No link exists yet, so what is made here is really inside.
  Status MakeFolder(const std::string& name) {
    for (std::size_t end = 0; end != std::string::npos && !name.empty();) {
      end = name.find('/', end + 1);
      const std::string folder = name.substr(0, end);
      if (!folders_.insert(folder).second) {
        continue;
      }
      const bool unnamed = !names_.contains(folder);
      if (Status counted = unnamed ? Count() : Status(Done{}); !counted) {
        return counted;
      }
      std::error_code code;
      fs::create_directory(into_ / folder, code);
      if (code) {
        return Refuse(name, "cannot be unpacked: " + code.message());
      }
    }
    return Done{};
  }

  Status NoteLink(const std::string& name, const char* target) {
    if (target == nullptr || name.empty() || std::string_view(target).size() > kLongestName ||
        !LinkStaysInside(name, target)) {
      return Refuse(name, "is a link that leads outside");
    }
    links_.emplace_back(name, target);
    return Done{};
  }

  Status WriteFile(struct archive* archive, const std::string& name) {
    Status folder = MakeFolder(fs::path(name).parent_path().string());
    if (!folder) {
      return folder;
    }
    OutFile file(into_ / name);
    if (!file.opened()) {
      return Refuse(name, "cannot be unpacked: " + std::generic_category().message(errno));
    }
    std::array<char, 65536> block{};
    for (;;) {
      const la_ssize_t got = archive_read_data(archive, block.data(), block.size());
      if (got < 0) {
        return LibraryError(archive);
      }
      if (got == 0) {
        return Done{};
      }
      bytes_ += got;
      if (bytes_ > limits_.bytes) {
        return Error{ErrorKind::kMalformed, where_,
                     "more than " + std::to_string(limits_.bytes) + " bytes unpacked"};
      }
      if (!file.Write({block.data(), static_cast<std::size_t>(got)})) {
        return Error{ErrorKind::kIo, (into_ / name).string(),
                     std::generic_category().message(errno)};
      }
    }
  }

  /// Last, so that nothing was ever written through one of them.
  Status MakeLinks() {
    for (const auto& [name, target] : links_) {
      Status folder = MakeFolder(fs::path(name).parent_path().string());
      if (!folder) {
        return folder;
      }
    }
    for (const auto& [name, target] : links_) {
      std::error_code code;
      fs::create_symlink(target, into_ / name, code);
      if (code) {
        return Refuse(name, "cannot be unpacked: " + code.message());
      }
    }
    return Done{};
  }

  std::string where_;
  fs::path into_;
  UnpackLimits limits_;
  int entries_ = 0;
  std::int64_t bytes_ = 0;
  std::set<std::string, std::less<>> names_;    // of entries
  std::set<std::string, std::less<>> folders_;  // that were made
  std::vector<std::pair<std::string, std::string>> links_;
};

}  // namespace

Result<std::string> CheckEntryName(std::string_view name) {
  const auto refuse = [&](const char* why) {
    return Error{ErrorKind::kMalformed, std::string(name), why};
  };
  if (name.find('\0') != std::string_view::npos) {
    return refuse("has a zero byte in its name");
  }
  if (name.starts_with('/')) {
    return refuse("has an absolute name");
  }
  std::string clean;
  for (const std::string_view part : base::Split(name, '/')) {
    if (part == "..") {
      return refuse("has '..' in its name");
    }
    if (!part.empty() && part != ".") {
      clean += (clean.empty() ? "" : "/") + std::string(part);
    }
  }
  return clean;
}

bool LinkStaysInside(std::string_view name, std::string_view target) {
  if (target.empty() || target.starts_with('/') || target.find('\0') != std::string_view::npos) {
    return false;
  }
  auto folders_above = base::Split(name, '/').size() - 1;
  bool down = false;
  for (const std::string_view part : base::Split(target, '/')) {
    if (part != "..") {
      down = down || (!part.empty() && part != ".");
      continue;
    }
    // After a step down, ".." would count from wherever that step's link leads.
    if (down || folders_above == 0) {
      return false;
    }
    --folders_above;
  }
  return true;
}

Status UnpackArchive(const fs::path& archive, const fs::path& into, const UnpackLimits& limits) {
  return Unpacker(archive, into, limits).Run();
}

}  // namespace probes
