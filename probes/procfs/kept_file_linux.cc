// SPDX-License-Identifier: Apache-2.0

#include "probes/procfs/kept_file.h"

#include <dirent.h>
#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstddef>
#include <cstring>
#include <utility>

#include "base/text.h"

namespace probes {
namespace {

constexpr std::size_t kMostBytes = 16U << 20U;

base::Status ReadWhole(int fd, const std::string& path, std::string& text) {
  text.clear();
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
  return base::Done{};
}

}  // namespace

KeptFile::KeptFile(const base::MachineRoot& root, std::string path)
    : root_(&root), path_(std::move(path)) {
  if (root.live()) {
    fd_ = open(path_.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY);
  }
}

KeptFile::KeptFile(KeptFile&& other) noexcept
    : root_(other.root_),
      path_(std::move(other.path_)),
      text_(std::move(other.text_)),
      fd_(std::exchange(other.fd_, -1)) {}

KeptFile& KeptFile::operator=(KeptFile&& other) noexcept {
  std::swap(root_, other.root_);
  std::swap(path_, other.path_);
  std::swap(text_, other.text_);
  std::swap(fd_, other.fd_);
  return *this;
}

KeptFile::~KeptFile() {
  if (fd_ >= 0) {
    close(fd_);
  }
}

base::Result<std::string_view> KeptFile::Read() {
  if (fd_ < 0) {
    auto text = root_->Read(path_, kMostBytes);
    if (!text) {
      return text.error();
    }
    text_ = *std::move(text);
  } else if (auto read = ReadWhole(fd_, path_, text_); !read) {
    return read.error();
  }
  return std::string_view(text_);
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
  std::string text;
  const auto read = ReadWhole(fd, path, text);
  close(fd);
  return read ? base::Result<std::string>(std::move(text)) : read.error();
}

std::vector<int> NumbersIn(const base::MachineRoot& root, const std::string& folder) {
  std::vector<int> numbers;
  const auto take = [&numbers](std::string_view name) {
    const auto number = base::ParseInt(name);
    if (number && *number >= 0 && *number <= INT32_MAX) {
      numbers.push_back(static_cast<int>(*number));
    }
  };
  if (!root.live()) {
    for (const std::string& name : root.List(folder).value_or({})) {
      take(name);
    }
  } else if (DIR* const open = opendir(folder.c_str())) {
    // NOLINTNEXTLINE(concurrency-mt-unsafe): the stream is nobody else's
    while (const dirent* entry = readdir(open)) {
      take(entry->d_name);
    }
    closedir(open);
  }
  std::sort(numbers.begin(), numbers.end());
  return numbers;
}

}  // namespace probes
