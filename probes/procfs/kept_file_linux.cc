// SPDX-License-Identifier: Apache-2.0

#include "probes/procfs/kept_file.h"

#include <fcntl.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstddef>
#include <cstring>
#include <utility>

namespace probes {
namespace {

constexpr std::size_t kMostBytes = 16U << 20U;

base::Result<std::string> ReadWhole(int fd, const std::string& path) {
  std::string text;
  std::array<char, 16384> buffer;  // NOLINT(cppcoreguidelines-pro-type-member-init): read into
  while (text.size() < kMostBytes) {
    const ssize_t got = pread(fd, buffer.data(), buffer.size(), static_cast<off_t>(text.size()));
    if (got < 0 && errno == EINTR) {
      continue;
    }
    if (got < 0) {
      return base::Error{base::ErrorKind::kIo, path, std::strerror(errno)};
    }
    text.append(buffer.data(), static_cast<std::size_t>(got));
    // These files come whole in one read; a short one is their end.
    if (static_cast<std::size_t>(got) < buffer.size()) {
      break;
    }
  }
  return text;
}

}  // namespace

KeptFile::KeptFile(const base::MachineRoot& root, std::string path)
    : root_(&root), path_(std::move(path)) {
  if (root.live()) {
    fd_ = open(path_.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY);
  }
}

KeptFile::KeptFile(KeptFile&& other) noexcept
    : root_(other.root_), path_(std::move(other.path_)), fd_(std::exchange(other.fd_, -1)) {}

KeptFile& KeptFile::operator=(KeptFile&& other) noexcept {
  std::swap(root_, other.root_);
  std::swap(path_, other.path_);
  std::swap(fd_, other.fd_);
  return *this;
}

KeptFile::~KeptFile() {
  if (fd_ >= 0) {
    close(fd_);
  }
}

base::Result<std::string> KeptFile::Read() {
  return fd_ < 0 ? root_->Read(path_, kMostBytes) : ReadWhole(fd_, path_);
}

base::Result<std::string> ReadOnce(const base::MachineRoot& root, const std::string& path) {
  if (!root.live()) {
    return root.Read(path, kMostBytes);
  }
  const int fd = open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY);
  if (fd < 0) {
    return base::Error{
        errno == EACCES || errno == EPERM ? base::ErrorKind::kDenied : base::ErrorKind::kNotPresent,
        path, std::strerror(errno)};
  }
  auto text = ReadWhole(fd, path);
  close(fd);
  return text;
}

}  // namespace probes
