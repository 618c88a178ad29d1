#include "probes/kernel_log.h"

#include <fcntl.h>
#include <time.h>
#include <unistd.h>

#include <array>
#include <cerrno>

namespace probes {
namespace {

/// A record longer than the buffer is an error to the kernel.
constexpr std::size_t kRecordBytes = 8192;

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
  std::array<char, kRecordBytes> buffer{};
  return ReadKernelLog(
      [&]() -> KernelLogRead {
        if (state_->error != 0) {
          return {state_->error, {}};
        }
        const ssize_t got = read(state_->fd, buffer.data(), buffer.size());
        if (got < 0) {
          return {errno, {}};
        }
        return {got == 0 ? EAGAIN : 0, {buffer.data(), static_cast<std::size_t>(got)}};
      },
      state_->began_us);
}

}  // namespace probes
