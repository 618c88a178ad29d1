// SPDX-License-Identifier: Apache-2.0

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <utility>

#include "probes/recording/bytes/byte_source.h"

namespace probes {

base::Result<FileBytes> FileBytes::Open(const std::filesystem::path& path) {
  // A pipe that nobody writes to would hold up its opening.
  const int fd = open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY | O_NONBLOCK);
  if (fd < 0) {
    return base::Error{
        errno == EACCES || errno == EPERM ? base::ErrorKind::kDenied : base::ErrorKind::kIo,
        path.string(), std::string("cannot be opened for reading: ") + std::strerror(errno)};
  }
  FileBytes file(fd, 0);
  struct stat facts = {};
  if (fstat(fd, &facts) != 0) {
    return base::Error{base::ErrorKind::kIo, path.string(), std::strerror(errno)};
  }
  if (!S_ISREG(facts.st_mode)) {
    return base::Error{base::ErrorKind::kInvalid, path.string(), "is no regular file"};
  }
  file.size_ = facts.st_size;
  return file;
}

FileBytes::FileBytes(FileBytes&& other) noexcept
    : fd_(std::exchange(other.fd_, -1)), size_(other.size_) {}

FileBytes& FileBytes::operator=(FileBytes&& other) noexcept {
  std::swap(fd_, other.fd_);
  std::swap(size_, other.size_);
  return *this;
}

FileBytes::~FileBytes() {
  if (fd_ >= 0) {
    close(fd_);
  }
}

std::size_t FileBytes::ReadAt(std::int64_t at, std::span<std::uint8_t> into) {
  std::size_t done = 0;
  while (at >= 0 && done < into.size()) {
    const ssize_t got = pread(fd_, into.data() + done, into.size() - done,
                              static_cast<off_t>(at) + static_cast<off_t>(done));
    if (got < 0 && errno == EINTR) {
      continue;
    }
    if (got <= 0) {
      break;
    }
    done += static_cast<std::size_t>(got);
  }
  return done;
}

void FileBytes::Expect(std::int64_t at, std::int64_t bytes) {
  posix_fadvise(fd_, static_cast<off_t>(at), static_cast<off_t>(bytes), POSIX_FADV_WILLNEED);
}

}  // namespace probes
