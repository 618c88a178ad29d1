// SPDX-License-Identifier: Apache-2.0

#include "cli/runs/watching.h"

#include <sys/resource.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <condition_variable>
#include <cstdio>
#include <memory>
#include <mutex>
#include <utility>

#include <fmt/format.h>

#include "base/clock.h"
#include "base/system/machine_root.h"
#include "base/text.h"
#include "cli/options/version.h"
#include "cli/runs/metrics_server.h"
#include "cli/runs/watch_words.h"
#include "cli/system/interrupt.h"
#include "cli/system/terminal.h"
#include "cli/system/write_file.h"
#include "probes/sampling/watch_run.h"

namespace cli {
namespace {

using Time = std::chrono::steady_clock;
constexpr auto kLook = std::chrono::seconds(1);
constexpr auto kLineEvery = std::chrono::minutes(1);

void Say(std::string_view text) {
  std::fwrite(text.data(), 1, text.size(), stderr);
  std::fflush(stderr);
}

/// What is said while it runs: two lines drawn anew on a terminal, else a line a minute.
class Display {
 public:
  explicit Display(bool quiet)
      : quiet_(quiet), terminal_(IsTerminal(Stream::kError)), said_(Time::now()) {}
  ~Display() { Clear(); }
  Display(const Display&) = delete;
  Display& operator=(const Display&) = delete;

  void Show(const probes::WatchState& state) {
    if (quiet_) {
      return;
    }
    if (terminal_) {
      Clear();
      const auto lines = WatchView(state, TerminalColumns(Stream::kError));
      Say(lines[0] + "\n" + lines[1]);
      drawn_ = true;
    } else if (Time::now() - said_ >= kLineEvery) {
      said_ = Time::now();
      Say(WatchLine(state) + "\n");
    }
  }

  /// A line that stays, also when quiet.
  void Warn(const std::string& text) {
    Clear();
    Say("rigproof: " + text + "\n");
  }

 private:
  void Clear() {
    if (drawn_) {
      Say("\r\x1b[K\x1b[1A\r\x1b[K");
      drawn_ = false;
    }
  }

  bool quiet_;
  bool terminal_;
  bool drawn_ = false;
  Time::time_point said_;
};

void SayBeginning(const Options& options, const probes::WatchState& state) {
  if (options.quiet) {
    return;
  }
  Say("rigproof: watching into " + base::Printable(options.into) + "; Ctrl-C ends it\n");
  for (const std::string& what : state.not_read) {
    Say("rigproof: could not be read: " + what + "\n");
  }
}

double CpuSeconds() {
  rusage used{};
  getrusage(RUSAGE_SELF, &used);
  const auto seconds = [](const timeval& time) {
    return static_cast<double>(time.tv_sec) + static_cast<double>(time.tv_usec) / 1e6;
  };
  return seconds(used.ru_utime) + seconds(used.ru_stime);
}

/// Most that was resident at any time. Not getrusage's, which goes on with what this process was
/// before it became this program.
double MostMemoryBytes() {
  constexpr double kKibibyte = 1024;
  const auto status = base::MachineRoot::Live().Read("/proc/self/status");
  const std::string_view text = status ? std::string_view(*status) : std::string_view();
  const std::size_t at = text.find("VmHWM:");
  const auto words = at == std::string_view::npos ? std::vector<std::string_view>()
                                                  : base::SplitWords(text.substr(at, 40));
  const auto kilobytes = words.size() > 1 ? base::ParseInt(words[1]) : std::nullopt;
  return static_cast<double>(kilobytes.value_or(0)) * kKibibyte;
}

/// Waits at most `longest`; true when it is time to end.
bool WaitFor(Time::duration longest, const std::stop_token& stop) {
  std::mutex mutex;
  std::condition_variable_any wake;
  std::unique_lock lock(mutex);
  wake.wait_for(lock, stop, longest, [] { return false; });
  return stop.stop_requested();
}

/// Shows and waits until the end. What it watched and could not is in the last state.
void ShowUntilEnded(const Options& options, const probes::WatchRun& run,
                    const std::stop_token& stop) {
  const auto begun = Time::now();
  const auto length = options.seconds > 0 ? std::chrono::duration<double>(options.seconds)
                                          : std::chrono::duration<double>::max();
  Display display(options.quiet);
  bool failed = false;
  std::string program = run.State()->program;
  while (true) {
    const std::chrono::duration<double> left = length - (Time::now() - begun);
    if (left.count() <= 0 || WaitFor(std::chrono::duration_cast<Time::duration>(
                                         std::min<std::chrono::duration<double>>(left, kLook)),
                                     stop)) {
      return;
    }
    const auto state = run.State();
    if (!options.quiet && state->program != program) {
      program = state->program;
      display.Warn("watching " + WatchedProgram(*state));
    }
    if (state->failure && !failed) {
      failed = true;
      display.Warn(state->failure->where + ": " + state->failure->detail);
      if (!options.metrics) {
        return;
      }
    }
    display.Show(*state);
  }
}

/// Null where no metrics are asked for.
base::Result<std::unique_ptr<MetricsServer>> Serve(
    const Options& options, const std::atomic<const probes::WatchRun*>& served) {
  if (!options.metrics) {
    return std::unique_ptr<MetricsServer>();
  }
  auto server = MetricsServer::Start(*options.metrics, [&served](probes::MetricsForm form) {
    const probes::WatchRun* run = served;
    return probes::WriteMetrics(run != nullptr ? *run->State() : probes::WatchState(), form);
  });
  if (server) {
    Say("rigproof: metrics at " + MetricsUrl((*server)->address()) + "\n");
  }
  if (server && !(*server)->address().loopback) {
    Say("rigproof: caution: that address may be reached from other PCs, and whoever reaches it "
        "reads which programs run here\n");
  }
  return server;
}

}  // namespace

base::Result<int> Watch(const Options& options) {
  const auto began = Time::now();
  const double cpu_before_s = CpuSeconds();
  const Interrupt interrupt;
  base::SystemClock clock;
  probes::WatchRunRequest request;
  request.into = options.into;
  request.program = options.program;
  request.hz = options.hz;
  request.limits.most_bytes = options.most_bytes;
  request.program_version = ProgramVersion();
  // The server first: an address that cannot be had leaves no log behind.
  std::atomic<const probes::WatchRun*> served = nullptr;
  auto server = Serve(options, served);
  if (!server) {
    return server.error();
  }
  auto run = probes::WatchRun::Start(base::MachineRoot::Live(), request, clock);
  if (!run) {
    return run.error();
  }
  probes::WatchRun& watching = **run;
  served = &watching;
  SayBeginning(options, *watching.State());
  ShowUntilEnded(options, watching, interrupt.Token());
  // The log first: it waits for nothing that anybody who connects may hold up.
  watching.Stop();
  *server = nullptr;
  const auto state = watching.State();
  const WatchCost cost{std::chrono::duration<double>(Time::now() - began).count(),
                       CpuSeconds() - cpu_before_s, MostMemoryBytes()};
  auto printed = PrintOut(options.json ? WatchSummaryJson(*state, options.into, cost)
                                       : WatchSummaryText(*state, options.into, cost));
  if (!printed) {
    return printed.error();
  }
  return state->failure ? 1 : 0;
}

}  // namespace cli
