// SPDX-License-Identifier: Apache-2.0

#include "base/system/subprocess.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <chrono>
#include <system_error>
#include <utility>

#include "base/system/descriptor.h"
#include "base/system/pipe.h"

extern char** environ;

namespace base {
namespace {

constexpr int kLookAgainMs = 50;  // how often a stop request and the deadline are looked at

/// One output of the child: the pipe, and what has come out of it.
struct Stream {
  Pipe pipe;
  std::size_t max_bytes = 0;
  std::string text;
  bool cut = false;

  bool Open() { return pipe.Open() && fcntl(pipe.read_end.get(), F_SETFL, O_NONBLOCK) == 0; }

  /// Takes what is waiting, but no more than a pipe can hold (1 MiB): a child
  /// that never pauses must not keep us from the clock. Closes the pipe at its end.
  void Drain() {
    std::array<char, 16384> block{};
    for (int turn = 0; turn < 64 && pipe.read_end.open(); ++turn) {
      const ssize_t got = read(pipe.read_end.get(), block.data(), block.size());
      if (got > 0) {
        const std::size_t kept = std::min(static_cast<std::size_t>(got), max_bytes - text.size());
        text.append(block.data(), kept);
        cut = cut || kept < static_cast<std::size_t>(got);
      } else if (got == 0 || (errno != EAGAIN && errno != EINTR)) {
        pipe.read_end.Close();
      } else if (errno == EAGAIN) {
        return;
      }
    }
  }
};

/// Signals as a fresh program expects them, and a process group of its own, so
/// that it is killed with all that it started.
int Spawn(const Command& command, const Stream& out, const Stream& err, pid_t& child) {
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
  posix_spawn_file_actions_adddup2(&actions, out.pipe.write_end.get(), STDOUT_FILENO);
  posix_spawn_file_actions_adddup2(&actions, err.pipe.write_end.get(), STDERR_FILENO);

  posix_spawnattr_t attributes;
  posix_spawnattr_init(&attributes);
  sigset_t none;
  sigset_t all;
  sigemptyset(&none);
  sigfillset(&all);
  posix_spawnattr_setsigmask(&attributes, &none);
  posix_spawnattr_setsigdefault(&attributes, &all);
  posix_spawnattr_setpgroup(&attributes, 0);
  posix_spawnattr_setflags(
      &attributes,
      static_cast<short>(POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF | POSIX_SPAWN_SETPGROUP));

  std::vector<std::string> words = command.argv;
  std::vector<char*> argv;
  argv.reserve(words.size() + 1);
  for (std::string& word : words) {
    argv.push_back(word.data());
  }
  argv.push_back(nullptr);
  const int failure =
      posix_spawnp(&child, argv.front(), &actions, &attributes, argv.data(), environ);
  posix_spawnattr_destroy(&attributes);
  posix_spawn_file_actions_destroy(&actions);
  return failure;
}

bool HasExited(pid_t child) {
  siginfo_t info = {};
  return waitid(P_PID, static_cast<id_t>(child), &info, WEXITED | WNOHANG | WNOWAIT) == 0 &&
         info.si_pid == child;
}

/// Collects output until the child has ended; kills it when it may not go on.
void Attend(pid_t child, const Command& command, const std::stop_token& stop,
            std::pair<Stream, Stream>& streams, Finished& finished) {
  using std::chrono::steady_clock;
  const auto deadline = steady_clock::now() +
                        std::chrono::duration_cast<steady_clock::duration>(
                            std::chrono::duration<double>(std::min(command.timeout_seconds, 1e8)));
  const Descriptor exit_event(static_cast<int>(syscall(SYS_pidfd_open, child, 0)));
  while (!HasExited(child)) {
    finished.stopped = stop.stop_requested();
    finished.timed_out = !finished.stopped && steady_clock::now() >= deadline;
    if (finished.stopped || finished.timed_out) {
      break;
    }
    std::array<pollfd, 3> waited = {{{streams.first.pipe.read_end.get(), POLLIN, 0},
                                     {streams.second.pipe.read_end.get(), POLLIN, 0},
                                     {exit_event.get(), POLLIN, 0}}};
    poll(waited.data(), waited.size(), kLookAgainMs);
    streams.first.Drain();
    streams.second.Drain();
  }
  // Not yet reaped, so its process group cannot be anybody else's.
  kill(-child, SIGKILL);
  int status = 0;
  while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  streams.first.Drain();
  streams.second.Drain();
  if (WIFEXITED(status)) {
    finished.exit_status = WEXITSTATUS(status);
  } else if (WIFSIGNALED(status)) {
    finished.signal = WTERMSIG(status);
    // A limit of its own, on the time that it may work.
    finished.timed_out = finished.timed_out || (finished.signal == SIGXCPU && !finished.stopped);
  }
}

Error NotStarted(int number, const std::string& program) {
  const ErrorKind kind = number == ENOENT                      ? ErrorKind::kNotPresent
                         : number == EACCES || number == EPERM ? ErrorKind::kDenied
                                                               : ErrorKind::kIo;
  return {kind, program, "cannot be started: " + std::generic_category().message(number)};
}

}  // namespace

Result<Finished> RunProgram(const Command& command, const std::stop_token& stop) {
  if (command.argv.empty() || command.argv.front().empty()) {
    return Error{ErrorKind::kInvalid, "", "no program to run"};
  }
  for (const std::string& word : command.argv) {
    if (word.find('\0') != std::string::npos) {
      return Error{ErrorKind::kInvalid, command.argv.front(), "an argument holds a zero byte"};
    }
  }
  std::pair<Stream, Stream> streams;
  streams.first.max_bytes = command.max_out_bytes;
  streams.second.max_bytes = command.max_err_bytes;
  if (!streams.first.Open() || !streams.second.Open()) {
    return NotStarted(errno, command.argv.front());
  }
  pid_t child = -1;
  const int failure = Spawn(command, streams.first, streams.second, child);
  if (failure != 0) {
    return NotStarted(failure, command.argv.front());
  }
  streams.first.pipe.write_end.Close();
  streams.second.pipe.write_end.Close();
  Finished finished;
  Attend(child, command, stop, streams, finished);
  finished.out = std::move(streams.first.text);
  finished.out_cut = streams.first.cut;
  finished.err = std::move(streams.second.text);
  finished.err_cut = streams.second.cut;
  return finished;
}

}  // namespace base
