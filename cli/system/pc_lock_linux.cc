// SPDX-License-Identifier: Apache-2.0
//
// flock(2) on an empty file in each folder that all users share. Anybody may have put anything
// under its name there: links are not followed, nothing is waited for, and nothing is ever read
// from it or written to it. Who holds the lock is asked of the kernel.

#include "cli/system/pc_lock.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <utility>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "base/system/machine_root.h"
#include "cli/system/lock_holder.h"
#include "cli/system/show.h"

namespace cli {
namespace {

namespace fs = std::filesystem;

constexpr const char* kName = "rigproof-load";
constexpr const char* kOtherFolder = "RIGPROOF_LOCK_FOLDER";
constexpr int kMostTries = 8;

/// All of them are locked that can be: which ones a user may write to differs. The variable is for
/// tests, which run several at once where that spoils nothing.
std::vector<fs::path> Places() {
  if (const char* const folder = std::getenv(kOtherFolder); folder != nullptr && *folder != '\0') {
    return {fs::path(folder) / kName};
  }
  return {fs::path("/run/lock") / kName, fs::path("/tmp") / kName};
}

/// A regular file of that name; not open where it is none or may not be opened.
base::Descriptor OpenExisting(const fs::path& path) {
  base::Descriptor file(
      open(path.c_str(), O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_NOCTTY | O_CLOEXEC));
  struct stat about = {};
  if (file.open() && (fstat(file.get(), &about) != 0 || !S_ISREG(about.st_mode))) {
    file.Close();
    errno = EINVAL;
  }
  return file;
}

/// For reading only, which is enough for flock(2), and others need no more.
base::Descriptor OpenOrMake(const fs::path& path) {
  constexpr mode_t kForEverybody = 0444;
  base::Descriptor file = OpenExisting(path);
  if (!file.open() && errno == ENOENT) {
    file = base::Descriptor(
        open(path.c_str(), O_RDONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, kForEverybody));
    if (file.open()) {
      [[maybe_unused]] const int changed =
          fchmod(file.get(), kForEverybody);  // whatever the umask is
    } else if (errno == EEXIST) {
      file = OpenExisting(path);  // made by another program just now
    }
  }
  return file;
}

/// Whether the file still has its name: what cleans up old files may have taken it away.
bool IsNamed(const base::Descriptor& file, const fs::path& path) {
  struct stat held = {};
  struct stat named = {};
  return fstat(file.get(), &held) == 0 && lstat(path.c_str(), &named) == 0 &&
         held.st_dev == named.st_dev && held.st_ino == named.st_ino;
}

enum class Outcome { kLocked, kTaken, kCannot };

Outcome Lock(const fs::path& path, base::Descriptor& file) {
  for (int tries = 0; tries < kMostTries; ++tries) {
    file = OpenOrMake(path);
    if (!file.open()) {
      return Outcome::kCannot;
    }
    if (flock(file.get(), LOCK_EX | LOCK_NB) != 0) {
      return errno == EWOULDBLOCK ? Outcome::kTaken : Outcome::kCannot;
    }
    if (IsNamed(file, path)) {
      return Outcome::kLocked;
    }
  }
  return Outcome::kCannot;
}

std::string Proc(const std::string& name) {
  return base::MachineRoot::Live().Read("/proc/" + name).value_or("");
}

std::optional<int> HolderOf(const fs::path& path) {
  struct stat about = {};
  if (lstat(path.c_str(), &about) != 0) {
    return std::nullopt;
  }
  return FlockHolder(Proc("locks"), {major(about.st_dev), minor(about.st_dev), about.st_ino});
}

/// "rigproof qualify (process 848, since 2026-11-30 14:02:31)", in this PC's time.
std::string InWords(int pid) {
  const std::string folder = std::to_string(pid);
  const auto began = BeganAt(Proc(folder + "/stat"), Proc("stat"), sysconf(_SC_CLK_TCK));
  std::string since;
  if (began) {
    since = fmt::format(", since {:%Y-%m-%d %H:%M:%S}",
                        fmt::localtime(static_cast<std::time_t>(*began)));
  }
  return fmt::format("{} (process {}{})", CommandOf(Proc(folder + "/cmdline")), pid, since);
}

}  // namespace

std::optional<std::string> WhoLoadsThisPc() {
  for (const fs::path& path : Places()) {
    if (const auto pid = HolderOf(path)) {
      return InWords(*pid);
    }
  }
  return std::nullopt;
}

std::string LoadedBy(const std::string& somebody) {
  return "is loaded by " + somebody +
         ", and two at once would spoil what both measure; allowed: one at a time";
}

base::Result<PcLock> PcLock::Take(const Options& options) {
  PcLock lock;
  for (const fs::path& path : Places()) {
    base::Descriptor file;
    switch (Lock(path, file)) {
      case Outcome::kLocked:
        lock.files_.push_back(std::move(file));
        break;
      case Outcome::kTaken: {
        const auto pid = HolderOf(path);
        return base::Error{base::ErrorKind::kDenied, "this PC",
                           LoadedBy(pid ? InWords(*pid) : "a program that cannot be seen")};
      }
      case Outcome::kCannot:
        break;
    }
  }
  if (lock.files_.empty()) {
    Tell(options, "cannot tell whether another run loads this PC: " + Places().front().string() +
                      " cannot be locked");
  }
  return lock;
}

}  // namespace cli
