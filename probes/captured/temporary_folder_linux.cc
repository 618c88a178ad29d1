// SPDX-License-Identifier: Apache-2.0
//
// The keeper makes the folder, so that there is no moment at which it is there and not kept.

#include "probes/captured/temporary_folder.h"

#include <fcntl.h>
#include <signal.h>
#include <sys/random.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdint>
#include <string>
#include <system_error>
#include <utility>

#include <fmt/format.h>

namespace probes {
namespace {

namespace fs = std::filesystem;
using base::Descriptor;
using base::Error;
using base::ErrorKind;
using base::Result;

constexpr int kMostTries = 10;
constexpr int kMostNumbers = 1024;  // of descriptors, where the kernel cannot close all at once
constexpr const char* kRemover = "/bin/rm";

/// Between fork and exec only what is safe in a signal handler may be called.
struct KeeperSide {
  const char* folder;
  int owner;

  [[noreturn]] void Keep() const {
    // Whatever ends its owner is none of its business: signals stay blocked, and a session of its
    // own gets none of a terminal's.
    setsid();
    const int made = mkdir(folder, S_IRWXU) == 0 ? 0 : errno;
    if (dup2(owner, STDIN_FILENO) < 0 || chdir("/") != 0) {
      _exit(1);
    }
    CloseAllButTheFirst();
    open("/dev/null", O_RDWR);  // NOLINT(android-cloexec-open): no other number is free
    dup2(STDOUT_FILENO, STDERR_FILENO);
    if (write(STDIN_FILENO, &made, sizeof made) != static_cast<ssize_t>(sizeof made) || made != 0) {
      _exit(1);
    }
    char nothing = 0;
    while (read(STDIN_FILENO, &nothing, 1) < 0 && errno == EINTR) {
    }
    execl(kRemover, kRemover, "-rf", "--one-file-system", "--", folder, nullptr);
    _exit(1);
  }

  /// Whoever reads what its owner writes must see the end of it.
  static void CloseAllButTheFirst() {
    if (syscall(SYS_close_range, 1U, ~0U, 0U) != 0) {
      for (int number = 1; number < kMostNumbers; ++number) {
        close(number);
      }
    }
  }
};

/// The process's number; -1 with errno set where there is no room for one.
pid_t StartKeeper(const std::string& folder, const Descriptor& keeper_end) {
  const KeeperSide side{folder.c_str(), keeper_end.get()};
  sigset_t all;
  sigset_t before;
  sigfillset(&all);
  pthread_sigmask(SIG_SETMASK, &all, &before);
  const pid_t keeper = fork();
  if (keeper == 0) {
    side.Keep();
  }
  const int why = errno;
  pthread_sigmask(SIG_SETMASK, &before, nullptr);
  errno = why;
  return keeper;
}

void WaitFor(pid_t process) {
  while (waitpid(process, nullptr, 0) < 0 && errno == EINTR) {
  }
}

/// The error number of the keeper's mkdir; ECHILD where it ended without a word.
int AnswerOf(const Descriptor& owner_end) {
  int made = 0;
  ssize_t got = 0;
  do {
    got = read(owner_end.get(), &made, sizeof made);
  } while (got < 0 && errno == EINTR);
  return got == static_cast<ssize_t>(sizeof made) ? made : ECHILD;
}

std::string UnguessedName() {
  std::uint64_t bits = 0;
  while (getrandom(&bits, sizeof bits, 0) != static_cast<ssize_t>(sizeof bits)) {
  }
  return fmt::format("rigproof-{:016x}", bits);
}

}  // namespace

TemporaryFolder::TemporaryFolder(TemporaryFolder&& other) noexcept
    : path_(std::exchange(other.path_, {})),
      owner_end_(std::move(other.owner_end_)),
      keeper_(std::exchange(other.keeper_, -1)) {}

TemporaryFolder& TemporaryFolder::operator=(TemporaryFolder&& other) noexcept {
  std::swap(path_, other.path_);
  std::swap(owner_end_, other.owner_end_);
  std::swap(keeper_, other.keeper_);
  return *this;
}

TemporaryFolder::~TemporaryFolder() {
  if (path_.empty()) {
    return;
  }
  std::error_code code;
  fs::remove_all(path_, code);
  kill(keeper_, SIGKILL);  // not yet reaped, so the number cannot be anybody else's
  WaitFor(keeper_);
}

Result<TemporaryFolder> TemporaryFolder::Make() {
  std::error_code code;
  const fs::path above = fs::temp_directory_path(code);
  if (code) {
    return Error{ErrorKind::kIo, "temporary folder", code.message()};
  }
  int why = EEXIST;
  for (int i = 0; i < kMostTries && why == EEXIST; ++i) {
    std::array<int, 2> ends{};
    if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends.data()) != 0) {
      why = errno;
      break;
    }
    TemporaryFolder made;
    made.owner_end_ = Descriptor(ends[0]);
    Descriptor keeper_end(ends[1]);
    const fs::path path = fs::absolute(above, code) / UnguessedName();
    made.keeper_ = StartKeeper(path.string(), keeper_end);
    if (made.keeper_ < 0) {
      why = errno;
      break;
    }
    keeper_end.Close();
    why = AnswerOf(made.owner_end_);
    if (why == 0) {
      made.path_ = path;
      return made;
    }
    WaitFor(made.keeper_);
  }
  return Error{ErrorKind::kIo, above.string(), std::generic_category().message(why)};
}

}  // namespace probes
