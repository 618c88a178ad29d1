#include "probes/kernel_log.h"

#include <fcntl.h>
#include <time.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <string>
#include <system_error>

namespace probes {
namespace {

constexpr std::size_t kRecordBytes =
    8192;  // a record longer than the buffer is an error to the kernel
constexpr std::size_t kMostMatches = 200;

/// The kernel stamps its lines with time since boot, without sleep: the monotonic clock.
std::int64_t MonotonicUs() {
  struct timespec now {};
  clock_gettime(CLOCK_MONOTONIC, &now);
  return std::int64_t{now.tv_sec} * 1'000'000 + now.tv_nsec / 1000;
}

}  // namespace

struct KernelLogTail::State {
  int fd = -1;
  int error = 0;
  std::int64_t began_us = 0;
};

KernelLogTail::KernelLogTail() : state_(std::make_unique<State>()) {
  state_->began_us = MonotonicUs();
  state_->fd = open("/dev/kmsg", O_RDONLY | O_NONBLOCK | O_CLOEXEC);
  if (state_->fd < 0 || lseek(state_->fd, 0, SEEK_END) < 0) {
    state_->error = errno;
  }
}

KernelLogTail::~KernelLogTail() {
  if (state_->fd >= 0) {
    close(state_->fd);
  }
}

KernelLog KernelLogTail::Finish() {
  KernelLog log;
  std::int64_t lines = 0;
  std::array<char, kRecordBytes> buffer{};
  while (state_->error == 0) {
    const ssize_t got = read(state_->fd, buffer.data(), buffer.size());
    if (got < 0 && (errno == EPIPE || errno == EINTR)) {
      continue;  // EPIPE: the log ran over, the next read goes on with what is left
    }
    if (got <= 0) {
      state_->error = got < 0 && errno != EAGAIN ? errno : 0;
      break;
    }
    ++lines;
    const auto record = ParseKernelRecord({buffer.data(), static_cast<std::size_t>(got)});
    auto match = record ? MatchKernelLine(record->text) : std::nullopt;
    if (match && log.matches.size() < kMostMatches) {
      match->at_s = static_cast<double>(record->at_us - state_->began_us) / 1e6;
      log.matches.push_back(*std::move(match));
    }
  }
  if (state_->error != 0) {
    log.lines_read = base::Reading<std::int64_t>::Unknown(
        "/dev/kmsg: " + std::generic_category().message(state_->error));
  } else {
    log.lines_read = lines;
  }
  return log;
}

}  // namespace probes
