// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/watch_run.h"

#include <unistd.h>

#include <algorithm>
#include <exception>
#include <stop_token>
#include <utility>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "base/text.h"
#include "probes/procfs/system_texts.h"
#include "probes/sampling/beat.h"
#include "probes/watch_log/fields.h"

namespace probes {
namespace {

constexpr double kTellEverySeconds = 0.999;
constexpr std::size_t kMostLinesAtOnce = 20;  // compared with the signatures in a second
constexpr double kStretchSeconds = 10;
constexpr int kMostAlike = 5;  // lines of one meaning in such a stretch

std::string UtcText(std::int64_t wall_ns) {
  return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}",
                     fmt::gmtime(static_cast<std::time_t>(wall_ns / 1'000'000'000)));
}

WatchHead ReadHead(const base::MachineRoot& root, const WatchRunRequest& request, double hz) {
  WatchHead head;
  const TimeMoment now = ReadClocks();
  head.program_version = request.program_version;
  head.began_at = UtcText(now.wall_ns);
  head.zero_ns = now.now_ns;
  head.zero_wall_ns = now.wall_ns;
  head.hz = hz;
  head.ticks_per_second = static_cast<double>(sysconf(_SC_CLK_TCK));
  head.program = request.program;
  if (const auto stat = root.Read("/proc/stat")) {
    head.cpus = static_cast<int>(ParseStatTicks(*stat).value_or({}).cores.size());
  }
  if (const auto info = root.Read("/proc/cpuinfo", std::size_t{8} << 20U)) {
    const CpuInfo cpu = ParseCpuInfo(*info);
    head.cpu_model = cpu.model;
    head.virtual_pc = cpu.hypervisor_flag;
  }
  if (const auto info = root.Read("/proc/meminfo")) {
    head.memory_bytes = static_cast<double>(ParseMemInfo(*info).total_bytes.value_or(0));
  }
  head.kernel = base::Printable(root.ReadTrimmed("/proc/sys/kernel/osrelease").value_or(""), 60);
  return head;
}

}  // namespace

base::Result<std::unique_ptr<WatchRun>> WatchRun::Start(const base::MachineRoot& root,
                                                        const WatchRunRequest& request,
                                                        base::Clock& clock) {
  WatchRequest sampling;
  sampling.program = request.program;
  sampling.hz = std::clamp(request.hz, 1.0, 20.0);
  sampling.own_pid = static_cast<int>(getpid());
  WatchHead head = ReadHead(root, request, sampling.hz);
  sampling.ticks_per_second = head.ticks_per_second;
  sampling.start_ns = head.zero_ns;
  auto writer = WatchLogWriter::Create(request.into, head, request.limits);
  if (!writer) {
    return writer.error();
  }
  std::unique_ptr<WatchRun> run(
      new WatchRun(root, sampling, std::move(head), *std::move(writer), clock));
  run->thread_ = std::jthread([run = run.get()](const std::stop_token& stop) { run->Run(stop); });
  return run;
}

WatchRun::WatchRun(const base::MachineRoot& root, const WatchRequest& request, WatchHead head,
                   std::unique_ptr<WatchLogWriter> writer, base::Clock& clock)
    : clock_(clock), head_(std::move(head)), writer_(std::move(writer)), collector_(root, request) {
  collector_.Sample(ReadClocks());
  kernel_zero_s_ = static_cast<double>(ReadClocks().now_ns - head_.zero_ns) / 1e9;
  kernel_taken_s_ = kernel_zero_s_;
  if (const auto lines = kernel_.Lines(); !lines) {
    not_read_.push_back("the kernel's log: " + lines.why_unknown());
    writer_->AddNotRead(not_read_.back());
  }
  writer_->AddKernelLines(kernel_.Lines());
  WriteNews();
  Tell(0);
}

void WatchRun::Run(const std::stop_token& stop) {
  const auto period_ns = static_cast<std::int64_t>(1e9 / head_.hz);
  std::string ended = "as asked";
  try {
    OnTheBeat(clock_, stop, head_.zero_ns, period_ns, [this] { Sample(); });
    TakeKernelLines(last_at_s_);
    writer_->AddKernelLines(kernel_.Lines());
  } catch (const std::exception& error) {
    ended = "failed: " + base::Printable(error.what());
    failure_ =
        base::Error{base::ErrorKind::kIo, "watching ended early", base::Printable(error.what())};
  }
  writer_->Finish(last_at_s_, ended);
  Tell(last_at_s_);
}

void WatchRun::Sample() {
  const auto sample = collector_.Sample(ReadClocks());
  if (!sample) {
    return;
  }
  WriteNews();
  last_at_s_ = sample->pc.at_s;
  ++samples_;
  if (second_) {
    MergeWatchSamples(*second_, *sample);
  } else {
    second_ = *sample;
  }
  const bool second_ended = last_at_s_ - told_s_ >= kTellEverySeconds;
  if (second_ended) {
    TakeKernelLines(last_at_s_);
  }
  writer_->Add(*sample, collector_.devices());
  if (second_ended) {
    Tell(last_at_s_);
  }
}

void WatchRun::WriteNews() {
  WatchNews news = collector_.TakeNews();
  for (std::string& text : news.not_read) {
    writer_->AddNotRead(text);
    not_read_.push_back(std::move(text));
  }
  for (const WatchProgram& program : news.programs) {
    writer_->Add(program);
  }
  for (const WatchProcesses& look : news.processes) {
    writer_->Add(look);
  }
}

void WatchRun::TakeKernelLines(double at_s) {
  if (at_s - stretch_s_ >= kStretchSeconds) {
    lately_.clear();
    stretch_s_ = at_s;
  }
  for (KernelLogLine& line : kernel_.Take(kMostLinesAtOnce)) {
    ++causes_[line.cause];
    if (++lately_[line.meaning] > kMostAlike) {
      continue;
    }
    // The kernel's own clock runs off over days; that the line is new is certain.
    line.at_s =
        std::clamp(line.at_s + kernel_zero_s_, kernel_taken_s_, std::max(kernel_taken_s_, at_s));
    writer_->Add(line);
  }
  kernel_taken_s_ = at_s;
}

void WatchRun::Tell(double at_s) {
  auto state = std::make_shared<WatchState>();
  state->head = head_;
  state->devices = collector_.devices();
  const auto before = State();
  if (second_) {
    state->second = *std::exchange(second_, std::nullopt);
  } else if (before) {
    state->second = before->second;
  }
  state->program = collector_.program().name();
  if (before && state->program.empty()) {
    state->program_before = before->program.empty() ? before->program_before : before->program;
  }
  state->program_pid = collector_.program().pid();
  state->program_as_asked = collector_.program().as_asked();
  state->samples = samples_;
  state->log_bytes = writer_->bytes_written();
  state->seconds_lost = writer_->seconds_lost();
  state->kernel_lines = kernel_.Lines();
  state->kernel_causes = causes_;
  state->not_read = not_read_;
  state->failure = failure_ ? failure_ : writer_->Failure();
  told_s_ = at_s;
  const std::lock_guard lock(mutex_);
  state_ = std::move(state);
}

std::shared_ptr<const WatchState> WatchRun::State() const {
  const std::lock_guard lock(mutex_);
  return state_;
}

void WatchRun::Stop() {
  if (thread_.joinable()) {
    thread_.request_stop();
    thread_.join();
  }
}

}  // namespace probes
