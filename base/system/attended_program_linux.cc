// SPDX-License-Identifier: Apache-2.0
//
// fork and exec by hand: posix_spawn cannot ask for a signal at the parent's death.

#include "base/system/attended_program.h"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <optional>
#include <system_error>

#include "base/system/descriptor.h"
#include "base/system/pipe.h"

namespace base {
namespace {

using Time = std::chrono::steady_clock;

constexpr int kLookAgainMs = 50;  // how often a stop request is looked at
constexpr std::size_t kLongestLine = 4096;

/// Puts bytes together to lines.
class LineCutter {
 public:
  explicit LineCutter(const LineSink& sink) : sink_(sink) {}

  void Take(std::string_view bytes) {
    for (const char byte : bytes) {
      if (byte == '\n') {
        End();
      } else if (line_.size() < kLongestLine) {
        line_ += byte;
      }
    }
  }
  void End() {
    if (!line_.empty()) {
      sink_(line_);
      line_.clear();
    }
  }

 private:
  const LineSink& sink_;
  std::string line_;
};

/// Between fork and exec only what is safe in a signal handler may be called.
struct ChildSide {
  char* const* argv;
  int error_output;
  int failure_report;
  pid_t parent;

  [[noreturn]] void Become() const {
    sigset_t none;
    sigemptyset(&none);
    struct sigaction usual = {};
    usual.sa_handler = SIG_DFL;
    for (int number = 1; number < NSIG; ++number) {
      sigaction(number, &usual, nullptr);
    }
    setpgid(0, 0);
    const int nothing = open("/dev/null", O_RDWR);  // NOLINT(android-cloexec-open)
    const bool wired = nothing >= 0 && dup2(nothing, STDIN_FILENO) >= 0 &&
                       dup2(nothing, STDOUT_FILENO) >= 0 && dup2(error_output, STDERR_FILENO) >= 0;
    if (wired && nothing > STDERR_FILENO) {
      close(nothing);
    }
    prctl(PR_SET_PDEATHSIG, SIGTERM);
    if (!wired || getppid() != parent) {
      _exit(1);
    }
    sigprocmask(SIG_SETMASK, &none, nullptr);
    execv(argv[0], argv);
    const int why = errno;
    [[maybe_unused]] const ssize_t told = write(failure_report, &why, sizeof why);
    _exit(1);
  }
};

/// The child's number, or the error number of what failed.
struct Started {
  pid_t child = -1;
  int failure = 0;
};

Started Start(const AttendedProgram& program, int error_output) {
  Pipe report;
  if (!report.Open()) {
    return {-1, errno};
  }
  std::vector<std::string> words = program.argv;
  std::vector<char*> argv;
  argv.reserve(words.size() + 1);
  for (std::string& word : words) {
    argv.push_back(word.data());
  }
  argv.push_back(nullptr);
  const ChildSide side{argv.data(), error_output, report.write_end.get(), getpid()};
  sigset_t all;
  sigset_t before;
  sigfillset(&all);
  // No handler of ours may run in the child before its signals are as usual.
  pthread_sigmask(SIG_SETMASK, &all, &before);
  const pid_t child = fork();
  if (child == 0) {
    side.Become();
  }
  const int fork_error = errno;
  pthread_sigmask(SIG_SETMASK, &before, nullptr);
  if (child < 0) {
    return {-1, fork_error};
  }
  report.write_end.Close();
  int why = 0;
  ssize_t got = 0;
  do {
    got = read(report.read_end.get(), &why, sizeof why);
  } while (got < 0 && errno == EINTR);
  if (got == static_cast<ssize_t>(sizeof why)) {
    waitpid(child, nullptr, 0);
    return {-1, why};
  }
  return {child, 0};
}

bool HasExited(pid_t child) {
  siginfo_t info = {};
  return waitid(P_PID, static_cast<id_t>(child), &info, WEXITED | WNOHANG | WNOWAIT) == 0 &&
         info.si_pid == child;
}

/// What is waiting, no more than a pipe holds; false at the end of it.
bool Drain(const Descriptor& from, LineCutter& lines) {
  std::array<char, 16384> block{};
  for (int turn = 0; turn < 64; ++turn) {
    const ssize_t got = read(from.get(), block.data(), block.size());
    if (got > 0) {
      lines.Take(std::string_view(block.data(), static_cast<std::size_t>(got)));
    } else if (got == 0 || errno != EINTR) {
      return got < 0 && errno == EAGAIN;
    }
  }
  return true;
}

void Attend(pid_t child, const AttendedProgram& program, const std::stop_token& stop,
            Descriptor& error_output, LineCutter& lines) {
  const Descriptor exit_event(static_cast<int>(syscall(SYS_pidfd_open, child, 0)));
  std::optional<Time::time_point> asked_to_stop;
  while (!HasExited(child)) {
    if (stop.stop_requested() && !asked_to_stop) {
      asked_to_stop = Time::now();
      kill(child, SIGTERM);
    }
    if (asked_to_stop &&
        std::chrono::duration<double>(Time::now() - *asked_to_stop).count() >= program.patience_s) {
      return;
    }
    std::array<pollfd, 2> waited = {
        {{error_output.get(), POLLIN, 0}, {exit_event.get(), POLLIN, 0}}};
    poll(waited.data(), waited.size(), kLookAgainMs);
    if (error_output.open() && !Drain(error_output, lines)) {
      error_output.Close();
    }
  }
}

}  // namespace

Result<AttendedEnd> RunAttended(const AttendedProgram& program, const std::stop_token& stop,
                                const LineSink& on_line) {
  if (program.argv.empty() || program.argv.front().empty()) {
    return Error{ErrorKind::kInvalid, "", "no program to run"};
  }
  Pipe errors;
  const bool wired = errors.Open() && fcntl(errors.read_end.get(), F_SETFL, O_NONBLOCK) == 0;
  const Started started = wired ? Start(program, errors.write_end.get()) : Started{-1, errno};
  if (started.child < 0) {
    return Error{started.failure == ENOENT ? ErrorKind::kNotPresent : ErrorKind::kIo,
                 program.argv.front(),
                 "cannot be started: " + std::generic_category().message(started.failure)};
  }
  errors.write_end.Close();
  LineCutter lines(on_line);
  Attend(started.child, program, stop, errors.read_end, lines);
  // Not yet reaped, so its process group cannot be anybody else's.
  kill(-started.child, SIGKILL);
  int status = 0;
  while (waitpid(started.child, &status, 0) < 0 && errno == EINTR) {
  }
  if (errors.read_end.open()) {
    Drain(errors.read_end, lines);
  }
  lines.End();
  return WIFEXITED(status) ? AttendedEnd{WEXITSTATUS(status), 0}
                           : AttendedEnd{-1, WTERMSIG(status)};
}

}  // namespace base
