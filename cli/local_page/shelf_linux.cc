// SPDX-License-Identifier: Apache-2.0
//
// openat(2) below a folder that is held open, one step at a time, O_NOFOLLOW at each.

#include "cli/local_page/shelf.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <string_view>
#include <system_error>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "cli/local_page/names.h"
#include "cli/local_page/secret.h"
#include "cli/runs/stored_results.h"
#include "cli/system/write_file.h"

namespace cli {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view kJson = ".json";
constexpr std::string_view kResultFile = "result.json";
constexpr std::int64_t kMostProfileBytes = 1 << 20;
constexpr std::size_t kMostEntries = 10'000;  // looked at in the folder

base::Error Invalid(const std::string& where, std::string detail) {
  return {base::ErrorKind::kInvalid, base::Printable(where), std::move(detail)};
}

base::Error Absent(const std::string& where) {
  return {base::ErrorKind::kNotPresent, base::Printable(where), "is not in the folder"};
}

/// A regular file, opened without waiting for whoever writes a pipe; else not open.
base::Descriptor OpenFile(const base::Descriptor& folder, const std::string& name) {
  base::Descriptor file(openat(folder.get(), name.c_str(),
                               O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_NOCTTY | O_CLOEXEC));
  struct stat about = {};
  if (!file.open() || fstat(file.get(), &about) != 0 || !S_ISREG(about.st_mode)) {
    file.Close();
  }
  return file;
}

base::Result<std::string> ReadAll(const base::Descriptor& folder, const std::string& name,
                                  std::int64_t most_bytes) {
  const base::Descriptor file = OpenFile(folder, name);
  struct stat about = {};
  if (!file.open() || fstat(file.get(), &about) != 0) {
    return Absent(name);
  }
  if (about.st_size > most_bytes) {
    return Invalid(name,
                   fmt::format("found {} bytes; allowed: at most {}", about.st_size, most_bytes));
  }
  std::string text;
  std::array<char, 65536> block{};
  while (true) {
    const ssize_t got = read(file.get(), block.data(), block.size());
    if (got < 0 && errno == EINTR) {
      continue;
    }
    if (got < 0) {
      return base::Error{base::ErrorKind::kIo, name,
                         std::string("cannot be read: ") + std::strerror(errno)};
    }
    if (got == 0) {
      return text;
    }
    text.append(block.data(), static_cast<std::size_t>(got));
    if (text.size() > static_cast<std::size_t>(most_bytes)) {
      return Invalid(name, fmt::format("grew beyond {} bytes while it was read", most_bytes));
    }
  }
}

std::optional<FileStamp> StampOf(const base::Descriptor& folder) {
  const base::Descriptor file = OpenFile(folder, std::string(kResultFile));
  struct stat about = {};
  if (!file.open() || fstat(file.get(), &about) != 0) {
    return std::nullopt;
  }
  return FileStamp{about.st_mtim.tv_sec * std::int64_t{1'000'000'000} + about.st_mtim.tv_nsec,
                   about.st_size};
}

/// Gives a file the name that nothing has yet; 0 or the error number, EEXIST when it is taken.
int NameAnew(const base::Descriptor& folder, const std::string& from, const std::string& to) {
  if (renameat2(folder.get(), from.c_str(), folder.get(), to.c_str(), RENAME_NOREPLACE) == 0) {
    return 0;
  }
  if (errno != EINVAL && errno != ENOSYS) {
    return errno;
  }
  // renameat2(2): not every file system knows the flag (NFS, some of FUSE); link(2) never replaces.
  if (linkat(folder.get(), from.c_str(), folder.get(), to.c_str(), 0) != 0) {
    return errno;
  }
  unlinkat(folder.get(), from.c_str(), 0);
  return 0;
}

/// As NameAnew, but a file of that name goes; a symbolic link is replaced, not followed.
int NameOver(const base::Descriptor& folder, const std::string& from, const std::string& to) {
  return renameat(folder.get(), from.c_str(), folder.get(), to.c_str()) == 0 ? 0 : errno;
}

/// Names in the folder, whatever they are.
std::vector<std::string> EntriesOf(const fs::path& path) {
  std::vector<std::string> names;
  std::error_code failed;
  fs::directory_iterator entry(path, failed);
  for (; !failed && entry != fs::directory_iterator() && names.size() < kMostEntries;
       entry.increment(failed)) {
    names.push_back(entry->path().filename().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

}  // namespace

base::Result<Shelf> Shelf::Open(const fs::path& folder) {
  if (auto prepared = PrepareFolder(folder, "FOLDER"); !prepared) {
    return prepared.error();
  }
  std::error_code failed;
  fs::path whole = fs::canonical(folder, failed);
  base::Descriptor held(failed ? -1 : ::open(whole.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (!held.open()) {
    return Invalid(folder.string(), "cannot be opened; allowed: a folder that can be written");
  }
  return Shelf(std::move(whole), std::move(held));
}

std::vector<std::string> Shelf::Profiles() const {
  std::vector<std::string> names;
  for (const std::string& entry : EntriesOf(path_)) {
    if (entry.ends_with(kJson)) {
      const std::string name = entry.substr(0, entry.size() - kJson.size());
      if (IsProfileName(name) && OpenFile(folder_, entry).open()) {
        names.push_back(name);
      }
    }
  }
  return names;
}

std::vector<std::string> Shelf::Results() const {
  std::vector<std::string> names;
  for (const std::string& entry : EntriesOf(path_)) {
    if (IsName(entry) && StampOf(ResultFolder(entry))) {
      names.push_back(entry);
    }
  }
  if (StampOf(folder_)) {
    names.insert(names.begin(), std::string(kResultHere));
  }
  return names;
}

base::Result<std::string> Shelf::ReadProfile(const std::string& name) const {
  if (!IsProfileName(name)) {
    return Invalid(name, "is no name of a profile; allowed: " + std::string(kNameForm));
  }
  return ReadAll(folder_, name + std::string(kJson), kMostProfileBytes);
}

fs::path Shelf::ProfilePath(const std::string& name) const {
  return path_ / (name + std::string(kJson));
}

base::Status Shelf::WriteProfile(const std::string& name, const std::string& text, bool replace,
                                 Readers readers) const {
  if (!IsProfileName(name)) {
    return Invalid(name, "is no name of a profile; allowed: " + std::string(kNameForm));
  }
  const std::string target = name + std::string(kJson);
  const auto unique = NewSecret();
  if (!unique) {
    return unique.error();
  }
  const std::string beside = ".rigproof." + unique->substr(0, 16);
  const auto failed = [&](int why) {
    unlinkat(folder_.get(), beside.c_str(), 0);
    return base::Error{base::ErrorKind::kIo, target,
                       std::string("cannot be written: ") + std::strerror(why)};
  };
  const mode_t mode = readers == Readers::kOwnerOnly ? 0600 : 0666;
  base::Descriptor file(openat(folder_.get(), beside.c_str(),
                               O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, mode));
  if (!file.open() || !WriteAll(file.get(), text) || fsync(file.get()) != 0) {
    return failed(errno);
  }
  file.Close();
  const int why = replace ? NameOver(folder_, beside, target) : NameAnew(folder_, beside, target);
  if (why == 0) {
    return base::Done{};
  }
  if (why == EEXIST) {
    unlinkat(folder_.get(), beside.c_str(), 0);
    return Invalid(name, "is the name of another profile; allowed: a new name");
  }
  return failed(why);
}

base::Descriptor Shelf::ResultFolder(const std::string& name) const {
  return base::Descriptor(openat(folder_.get(), IsResultName(name) ? name.c_str() : "/dev/null",
                                 O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC));
}

base::Result<std::string> Shelf::ReadResult(const std::string& name,
                                            const std::string& file) const {
  const base::Descriptor folder = ResultFolder(name);
  if (!folder.open()) {
    return Absent(name);
  }
  return ReadAll(folder, file, static_cast<std::int64_t>(kMostStoredBytes));
}

std::optional<FileStamp> Shelf::ResultStamp(const std::string& name) const {
  return StampOf(ResultFolder(name));
}

std::string Shelf::NewResultName(const std::string& wanted) const {
  for (int number = 1;; ++number) {
    std::string tried = number == 1 ? wanted : fmt::format("{} {}", wanted, number);
    struct stat about = {};
    if (fstatat(folder_.get(), tried.c_str(), &about, AT_SYMLINK_NOFOLLOW) != 0) {
      return tried;
    }
  }
}

fs::path Shelf::ResultPath(const std::string& name) const {
  return name == kResultHere ? path_ : path_ / name;
}

}  // namespace cli
