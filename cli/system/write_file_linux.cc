// SPDX-License-Identifier: Apache-2.0
//
// mkstemp, write, rename.

#include "cli/system/write_file.h"

#include <signal.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstring>
#include <string>
#include <system_error>

namespace cli {
namespace {

base::Error Failed(const std::filesystem::path& path, int error_number) {
  return {base::ErrorKind::kIo, path.string(),
          std::string("cannot be written: ") + std::strerror(error_number)};
}

/// The permissions of an ordinary new file: mkstemp gives 0600 only.
void OpenUpAsUmaskAllows(int file) {
  const mode_t mask = umask(0);
  umask(mask);
  [[maybe_unused]] const int changed = fchmod(file, 0666 & ~mask);
}

}  // namespace

void HearOfFailedWrites() {
  signal(SIGPIPE, SIG_IGN);
  signal(SIGXFSZ, SIG_IGN);
}

bool WriteAll(int file, std::string_view text) {
  while (!text.empty()) {
    const ssize_t written = write(file, text.data(), text.size());
    if (written < 0 && errno == EINTR) {
      continue;
    }
    if (written <= 0) {
      return false;
    }
    text.remove_prefix(static_cast<std::size_t>(written));
  }
  return true;
}

base::Status WriteFileWhole(const std::filesystem::path& path, std::string_view text) {
  std::string beside = path.string() + ".XXXXXX";
  const int file = mkstemp(beside.data());
  if (file < 0) {
    return Failed(path, errno);
  }
  OpenUpAsUmaskAllows(file);
  bool written = WriteAll(file, text);
  int error_number = errno;
  if (close(file) != 0 && written) {
    written = false;
    error_number = errno;
  }
  if (written && rename(beside.c_str(), path.c_str()) != 0) {
    written = false;
    error_number = errno;
  }
  if (!written) {
    unlink(beside.c_str());
    return Failed(path, error_number);
  }
  return base::Done{};
}

base::Status PrintOut(std::string_view text) {
  const std::size_t written = std::fwrite(text.data(), 1, text.size(), stdout);
  if (written != text.size() || std::fflush(stdout) != 0) {
    if (errno == EPIPE) {
      return base::Done{};  // whoever reads has seen enough
    }
    return Failed("standard output", errno);
  }
  return base::Done{};
}

base::Status PrepareFolder(const std::filesystem::path& folder, std::string_view option) {
  const auto refuse = [&folder, option](const std::string& why) {
    return base::Error{base::ErrorKind::kInvalid, folder.string(),
                       why + "; allowed for " + std::string(option) +
                           ": a folder that can be written, or a new name in one"};
  };
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (error) {
    return refuse("cannot be made: " + error.message());
  }
  std::string probe = (folder / ".rigproof.XXXXXX").string();
  const int file = mkstemp(probe.data());
  if (file < 0) {
    return refuse(std::string("cannot be written: ") + std::strerror(errno));
  }
  close(file);
  unlink(probe.c_str());
  return base::Done{};
}

}  // namespace cli
