#include "probes/kept_file.h"

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
  if (fd_ < 0) {
    return root_->Read(path_, kMostBytes);
  }
  std::string text;
  std::array<char, 16384> buffer{};
  while (text.size() < kMostBytes) {
    const ssize_t got = pread(fd_, buffer.data(), buffer.size(), static_cast<off_t>(text.size()));
    if (got < 0 && errno == EINTR) {
      continue;
    }
    if (got < 0) {
      return base::Error{base::ErrorKind::kIo, path_, std::strerror(errno)};
    }
    text.append(buffer.data(), static_cast<std::size_t>(got));
    // These files come whole in one read; a short one is their end.
    if (static_cast<std::size_t>(got) < buffer.size()) {
      break;
    }
  }
  return text;
}

}  // namespace probes
