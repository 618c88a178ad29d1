// SPDX-License-Identifier: Apache-2.0

#include "probes/line/kernel_log.h"

#include <fcntl.h>
#include <time.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdint>
#include <string>
#include <system_error>

namespace probes {
namespace {

/// A record longer than the buffer is an error to the kernel.
constexpr std::size_t kRecordBytes = 8192;
constexpr const char* kLog = "/dev/kmsg";

base::Reading<std::int64_t> NotRead(const std::string& why) {
  return base::Reading<std::int64_t>::Unknown(std::string(kLog) + ": " + why);
}

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
  std::int64_t lines = 0;
  std::array<char, kRecordBytes> buffer{};
};

KernelLogTail::KernelLogTail() : state_(std::make_unique<State>()) {
  state_->began_us = MonotonicUs();
  state_->fd = open(kLog, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
  if (state_->fd < 0 || lseek(state_->fd, 0, SEEK_END) < 0) {
    state_->error = errno;
  }
}

KernelLogTail::~KernelLogTail() {
  if (state_->fd >= 0) {
    close(state_->fd);
  }
}

KernelLogRead KernelLogTail::ReadOne() {
  if (state_->error != 0) {
    return {state_->error, {}};
  }
  const ssize_t got = read(state_->fd, state_->buffer.data(), state_->buffer.size());
  if (got < 0) {
    return {errno, {}};
  }
  return {got == 0 ? EAGAIN : 0, {state_->buffer.data(), static_cast<std::size_t>(got)}};
}

KernelLog KernelLogTail::Finish() {
  KernelLog log = ReadKernelLog([this] { return ReadOne(); }, state_->began_us);
  if (!log.lines_read.known()) {
    log.lines_read = NotRead(log.lines_read.why_unknown());
  }
  return log;
}

std::optional<KernelRecord> KernelLogTail::Next() {
  KernelLogRead got = ReadOne();
  // EPIPE: the log ran over, the next read goes on with what is left.
  while (got.error == EPIPE || got.error == EINTR) {
    got = ReadOne();
  }
  if (got.error != 0) {
    state_->error = got.error != EAGAIN ? got.error : 0;
    return std::nullopt;
  }
  ++state_->lines;
  // One that is no record is passed over as one without text.
  return ParseKernelRecord(got.record).value_or(KernelRecord{});
}

std::vector<KernelLogLine> KernelLogTail::Take(std::size_t most_matched) {
  std::vector<KernelLogLine> lines;
  while (const auto record = Next()) {
    if (record->text.empty() || most_matched == 0) {
      continue;
    }
    --most_matched;
    if (auto match = MatchKernelLine(record->text)) {
      match->at_s = static_cast<double>(record->at_us - state_->began_us) / 1e6;
      lines.push_back(*std::move(match));
    }
  }
  return lines;
}

base::Reading<std::int64_t> KernelLogTail::Lines() const {
  if (state_->error != 0) {
    return NotRead(std::generic_category().message(state_->error));
  }
  return state_->lines;
}

}  // namespace probes
