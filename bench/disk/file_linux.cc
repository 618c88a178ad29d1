// SPDX-License-Identifier: Apache-2.0

#include "bench/disk/file.h"

#include <fcntl.h>
#include <sys/types.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <mutex>
#include <system_error>
#include <utility>

#include <fmt/format.h>

namespace bench {
namespace {

/// Paced writeback works in chunks of at most and, unless told otherwise, this size.
constexpr std::int64_t kMostChunkBytes = 8 << 20;
constexpr std::int64_t kLeastChunkBytes = 64 << 10;

}  // namespace

struct RecordingFile::State {
  int descriptor = -1;
  std::string where;
  WriteMode mode = WriteMode::kPaced;
  std::int64_t size = 0;
  std::int64_t chunk_bytes = kMostChunkBytes;
  std::int64_t paced_until = 0;  // chunks below this have been handed to the disk

  State() = default;
  State(const State&) = delete;
  State& operator=(const State&) = delete;
  ~State() {
    if (descriptor >= 0) {
      close(descriptor);
    }
  }

  base::Status Pace();
};

namespace {

using base::Error;
using base::ErrorKind;

Error FromErrno(int number, const std::string& where) {
  switch (number) {
    case ENOENT:
      return {ErrorKind::kNotPresent, where, "the folder does not exist"};
    case ENOTDIR:
      return {ErrorKind::kInvalid, where, "its parent is not a folder"};
    case EEXIST:
      return {ErrorKind::kInvalid, where, "a file of this name exists and is not overwritten"};
    case EROFS:
      return {ErrorKind::kDenied, where, "the filesystem is read-only"};
    case EACCES:
    case EPERM:
      return {ErrorKind::kDenied, where, "no permission to write here"};
    case ENOSPC:
    case EDQUOT:
      return {ErrorKind::kIo, where, "the disk is full"};
    case EFBIG:
      return {ErrorKind::kIo, where, "the file has reached the largest size allowed here"};
    case EIO:
      return {ErrorKind::kIo, where, "the disk reported an input/output error"};
    default:
      return {ErrorKind::kIo, where, std::generic_category().message(number)};
  }
}

template <typename Call>
auto RetryInterrupted(Call call) {
  auto answer = call();
  while (answer < 0 && errno == EINTR) {
    answer = call();
  }
  return answer;
}

// A write past RLIMIT_FSIZE would end the process by SIGXFSZ; ignored, it is
// an EFBIG like any other.
void TakeFileTooLargeAsError() {
  static std::once_flag once;
  std::call_once(once, [] {
    struct sigaction current = {};
    if (sigaction(SIGXFSZ, nullptr, &current) == 0 && current.sa_handler == SIG_DFL) {
      std::signal(SIGXFSZ, SIG_IGN);
    }
  });
}

int OpenNamed(const std::filesystem::path& path, bool keep, int flags) {
  const int descriptor = RetryInterrupted(
      [&] { return open(path.c_str(), flags | O_CREAT | O_EXCL | O_NOFOLLOW, 0644); });
  if (descriptor >= 0 && !keep) {
    unlink(path.c_str());
  }
  return descriptor;
}

// O_TMPFILE never has a name at all; filesystems without it get one for an instant.
int OpenFile(const std::filesystem::path& path, bool keep, WriteMode mode) {
  const int flags = O_RDWR | O_CLOEXEC | (mode == WriteMode::kDirect ? O_DIRECT : 0);
  if (keep) {
    return OpenNamed(path, true, flags);
  }
  const auto folder = path.has_parent_path() ? path.parent_path() : std::filesystem::path(".");
  const int descriptor =
      RetryInterrupted([&] { return open(folder.c_str(), flags | O_TMPFILE, 0600); });
  if (descriptor >= 0 || (errno != EOPNOTSUPP && errno != EISDIR && errno != EINVAL)) {
    return descriptor;
  }
  return OpenNamed(path, false, flags);
}

// Starts writeback of [offset, offset + bytes), and waits for its end if asked.
int WriteBack(int descriptor, std::int64_t offset, std::int64_t bytes, bool wait) {
  const unsigned flags =
      wait ? SYNC_FILE_RANGE_WAIT_BEFORE | SYNC_FILE_RANGE_WRITE | SYNC_FILE_RANGE_WAIT_AFTER
           : SYNC_FILE_RANGE_WRITE;
  int answer = RetryInterrupted([&] { return sync_file_range(descriptor, offset, bytes, flags); });
  if (answer < 0 && (errno == ENOSYS || errno == EOPNOTSUPP) && wait) {
    answer = RetryInterrupted([&] { return fdatasync(descriptor); });
  } else if (answer < 0 && (errno == ENOSYS || errno == EOPNOTSUPP)) {
    return 0;
  }
  return answer;
}

}  // namespace

// The newest chunk starts on its way while the one before it is waited for, so
// that at most two chunks are dirty and the disk never idles.
base::Status RecordingFile::State::Pace() {
  while (size - paced_until >= chunk_bytes) {
    const std::int64_t newest = paced_until;
    const std::int64_t before = newest - chunk_bytes;
    if (WriteBack(descriptor, newest, chunk_bytes, false) < 0 ||
        (before >= 0 && WriteBack(descriptor, before, chunk_bytes, true) < 0)) {
      return FromErrno(errno, where);
    }
    if (before >= 0) {
      posix_fadvise(descriptor, before, chunk_bytes, POSIX_FADV_DONTNEED);
    }
    paced_until += chunk_bytes;
  }
  return base::Done{};
}

RecordingFile::RecordingFile(std::unique_ptr<State> state) : state_(std::move(state)) {}
RecordingFile::RecordingFile(RecordingFile&& other) noexcept = default;
RecordingFile& RecordingFile::operator=(RecordingFile&& other) noexcept = default;
RecordingFile::~RecordingFile() = default;

base::Result<RecordingFile> RecordingFile::Open(const std::filesystem::path& path, bool keep,
                                                WriteMode mode) {
  TakeFileTooLargeAsError();
  auto state = std::make_unique<State>();
  state->where = path.string();
  state->mode = mode;
  state->descriptor = OpenFile(path, keep, mode);
  if (state->descriptor < 0) {
    if (mode == WriteMode::kDirect && errno == EINVAL) {
      return Error{ErrorKind::kUnsupported, state->where, "the filesystem takes no direct writes"};
    }
    return FromErrno(errno, state->where);
  }
  return RecordingFile(std::move(state));
}

base::Status RecordingFile::WriteAt(std::int64_t offset, std::span<const std::uint8_t> bytes) {
  if (!state_ || state_->descriptor < 0) {
    return Error{ErrorKind::kInvalid, state_ ? state_->where : "", "the file is closed"};
  }
  bool refused = false;
  while (!bytes.empty()) {
    const ssize_t written = RetryInterrupted(
        [&] { return pwrite(state_->descriptor, bytes.data(), bytes.size(), offset); });
    if (written < 0 && errno == EINVAL && state_->mode == WriteMode::kDirect && !refused) {
      // Direct writes also fail so where the file may only grow by a part of a
      // page; through the page cache the same write tells the real reason.
      refused = true;
      fcntl(state_->descriptor, F_SETFL, fcntl(state_->descriptor, F_GETFL) & ~O_DIRECT);
      continue;
    }
    if (written <= 0) {
      return FromErrno(written < 0 ? errno : EIO, state_->where);
    }
    offset += written;
    bytes = bytes.subspan(static_cast<std::size_t>(written));
    state_->size = std::max(state_->size, offset);
  }
  if (refused) {
    return Error{ErrorKind::kUnsupported, state_->where, "the filesystem refused a direct write"};
  }
  return state_->mode == WriteMode::kPaced ? state_->Pace() : base::Done{};
}

std::int64_t RecordingFile::size() const {
  return state_ ? state_->size : 0;
}

base::Status RecordingFile::Flush() {
  if (!state_ || state_->descriptor < 0) {
    return base::Done{};
  }
  if (RetryInterrupted([&] { return fdatasync(state_->descriptor); }) < 0) {
    return FromErrno(errno, state_->where);
  }
  posix_fadvise(state_->descriptor, 0, 0, POSIX_FADV_DONTNEED);
  return base::Done{};
}

base::Status RecordingFile::Finish() {
  if (!state_ || state_->descriptor < 0) {
    return base::Done{};
  }
  auto flushed = Flush();
  const int closed = close(std::exchange(state_->descriptor, -1));
  if (flushed && closed < 0 && errno != EINTR) {
    return FromErrno(errno, state_->where);
  }
  return flushed;
}

void RecordingFile::PaceBySecond(std::int64_t bytes_per_second) {
  state_->chunk_bytes = ChunkBytes(bytes_per_second);
}

std::int64_t ChunkBytes(std::int64_t bytes_per_second) {
  const std::int64_t pages = bytes_per_second / kDirectAlignment * kDirectAlignment;
  return std::clamp(pages, kLeastChunkBytes, kMostChunkBytes);
}

namespace {

std::string PolicyText(const std::string& chunks) {
  return fmt::format(
      "paced: in chunks of {}; the newest chunk is sent to the disk, the one before it is waited "
      "for and dropped from the page cache, so that at most two of a file are in memory",
      chunks);
}

}  // namespace

std::string WritebackPolicyText() {
  return PolicyText(fmt::format("{} MiB", kMostChunkBytes >> 20));
}

std::string WritebackBySecondText() {
  return PolicyText(fmt::format("what a second brings, {} MiB at most", kMostChunkBytes >> 20));
}

}  // namespace bench
