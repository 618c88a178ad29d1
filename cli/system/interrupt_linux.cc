// SPDX-License-Identifier: Apache-2.0
//
// The signal handler writes a byte into a pipe; a thread that waits for it requests the stop.

#include "cli/system/interrupt.h"

#include <fcntl.h>
#include <signal.h>
#include <time.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <cerrno>
#include <cstdint>

namespace cli {
namespace {

constexpr std::array kSignals = {SIGINT, SIGTERM, SIGHUP, SIGXCPU};
constexpr int kEndedBySignal = 130;
/// Whoever sends several for one reason does it within this time.
constexpr std::int64_t kOneReasonNs = 500'000'000;

// A handler reaches only globals; lock-free atomics are safe in it.
std::atomic<int> pipe_write_end{-1};
std::atomic<std::int64_t> first_signal_ns{0};  // 0: none yet
int pipe_read_end = -1;
std::array<struct sigaction, kSignals.size()> handlers_before;

std::int64_t NowNs() {
  timespec now = {};
  clock_gettime(CLOCK_MONOTONIC, &now);
  return std::int64_t{now.tv_sec} * 1'000'000'000 + now.tv_nsec;
}

void Handle(int signal) {
  const int saved_errno = errno;
  const std::int64_t now_ns = NowNs();
  std::int64_t first_ns = 0;
  if (first_signal_ns.compare_exchange_strong(first_ns, now_ns)) {
    const char byte = 's';
    [[maybe_unused]] const ssize_t written = write(pipe_write_end.load(), &byte, 1);
  } else if (signal == SIGINT && now_ns - first_ns >= kOneReasonNs) {
    _exit(kEndedBySignal);
  }
  errno = saved_errno;
}

}  // namespace

Interrupt::Interrupt() {
  std::array<int, 2> ends{};
  if (pipe2(ends.data(), O_CLOEXEC) != 0) {
    return;  // no descriptors left: signals keep their usual effect
  }
  pipe_read_end = ends[0];
  pipe_write_end = ends[1];
  first_signal_ns = 0;
  watcher_ = std::thread([this] {
    char byte = 0;
    ssize_t got = 0;
    do {
      got = read(pipe_read_end, &byte, 1);
    } while (got < 0 && errno == EINTR);
    if (got == 1 && byte == 's') {
      stop_.request_stop();
    }
  });
  struct sigaction action = {};
  action.sa_handler = Handle;
  action.sa_flags = SA_RESTART;
  sigemptyset(&action.sa_mask);
  for (std::size_t i = 0; i < kSignals.size(); ++i) {
    sigaction(kSignals[i], &action, &handlers_before[i]);
    if (kSignals[i] == SIGHUP && handlers_before[i].sa_handler == SIG_IGN) {
      sigaction(SIGHUP, &handlers_before[i], nullptr);
    }
  }
}

Interrupt::~Interrupt() {
  if (!watcher_.joinable()) {
    return;
  }
  for (std::size_t i = 0; i < kSignals.size(); ++i) {
    sigaction(kSignals[i], &handlers_before[i], nullptr);
  }
  const char byte = 'q';
  [[maybe_unused]] const ssize_t written = write(pipe_write_end.load(), &byte, 1);
  watcher_.join();
  close(pipe_write_end.exchange(-1));
  close(pipe_read_end);
}

}  // namespace cli
