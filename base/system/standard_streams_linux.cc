// SPDX-License-Identifier: Apache-2.0

#include "base/system/standard_streams.h"

#include <fcntl.h>
#include <unistd.h>

#include <array>
#include <cerrno>

namespace base {
namespace {

struct Stand {
  int number;
  int access;
};

/// A closed output gets what cannot be written to, as the C library does it for programs with
/// raised rights (glibc, csu/check_fds.c); messages may vanish.
constexpr std::array kStands = {Stand{STDIN_FILENO, O_RDONLY}, Stand{STDOUT_FILENO, O_RDONLY},
                                Stand{STDERR_FILENO, O_WRONLY}};

}  // namespace

void OpenClosedStandardStreams() {
  for (const Stand& stand : kStands) {
    if (fcntl(stand.number, F_GETFD) >= 0 || errno != EBADF) {
      continue;
    }
    // The lowest free number is this one: those below are open by now.
    const int opened = open("/dev/null", stand.access);  // NOLINT(android-cloexec-open)
    if (opened >= 0 && opened != stand.number) {
      dup2(opened, stand.number);
      close(opened);
    }
  }
}

}  // namespace base
