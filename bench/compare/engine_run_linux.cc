// SPDX-License-Identifier: Apache-2.0
//
// Runs a profile through the engine and prints what it took, for comparisons with other programs.
//
//   engine_run PROFILE FOLDER real SECONDS         in real time
//   engine_run PROFILE FOLDER flat SECONDS         that much production, as fast as it goes
//   engine_run PROFILE FOLDER null SECONDS         the same with encoders and writers left out
//   engine_run PROFILE FOLDER copies SECONDS       only the copies that the engine must make

#include <sys/resource.h>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <string>

#include <fmt/format.h>

#include "base/media/ffmpeg.h"
#include "base/text.h"
#include "bench/compare/must_copy.h"
#include "bench/runs/rehearsal.h"
#include "bench/stages/stage_cpu.h"
#include "profiles/text/reader.h"

namespace {

int Fail(const base::Error& error) {
  fmt::print(stderr, "engine_run: {}: {}\n", error.where, error.detail);
  return 2;
}

void PrintRehearsal(const bench::Rehearsal& run) {
  for (const auto& output : run.outputs) {
    fmt::print(
        "output={} encoder={} due={} delivered={} dropped={} late={} received={} p50_ms={:.2f} "
        "p99_ms={:.2f} delay_frames={} busy={:.2f} bytes={}\n",
        output.name, output.encoder, output.due, output.delivered, output.dropped, output.late,
        output.received, output.lateness.p50_ms, output.lateness.p99_ms,
        output.encoder_delay_frames, output.encoder_busy, output.bytes);
  }
  for (const auto& feed : run.feeds) {
    fmt::print("feed={} due={} delivered={} dropped={} prepare_s={:.2f} ring_bytes={}\n", feed.name,
               feed.due, feed.delivered, feed.dropped, feed.prepare_seconds, feed.ring_bytes);
  }
  for (const auto& stage : run.stages) {
    fmt::print("stage={} item={} frames={} cpu_s={:.3f}\n", base::WordOf(stage.stage), stage.item,
               stage.frames, stage.cpu_seconds);
  }
  for (std::size_t i = 0; i < run.drops.size() && i < 10; ++i) {
    fmt::print("drop={} at_s={:.2f} frames={} stage={}\n", run.drops[i].output, run.drops[i].at_s,
               run.drops[i].frames, base::WordOf(run.drops[i].stage));
  }
  fmt::print("complete={} why='{}' warm_up_s={} cpu_s={:.2f} peak_resident={} predicted={}\n",
             run.complete, run.stopped_because, run.warm_up_seconds, run.cpu_seconds,
             run.peak_resident_bytes, run.predicted_resident_bytes);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 5) {
    fmt::print(stderr, "usage: engine_run PROFILE FOLDER real|flat|null|copies SECONDS\n");
    return 2;
  }
  base::KeepFfmpegComplaints();
  const std::string mode = argv[3];
  const double seconds = base::ParseDouble(argv[4]).value_or(0);
  auto profile = profiles::ReadProfile(argv[1]);
  if (!profile) {
    return Fail(profile.error());
  }
  bench::PlanOptions options;
  options.usable_cpus = 2;
  options.record_to = argv[2];
  options.null_encoders = mode == "null";
  options.keep_recordings = std::getenv("RIGPROOF_KEEP") != nullptr;
  auto plan = bench::MakePlan(*profile, options);
  if (!plan) {
    return Fail(plan.error());
  }
  auto feeds = bench::PrepareFeeds(*plan, {});
  if (!feeds) {
    return Fail(feeds.error());
  }
  if (mode == "copies") {
    fmt::print("copies_s={:.4f}\n", bench::SecondsForCopies(*profile, seconds));
    return 0;
  }
  const auto silent = [](double, std::int64_t) {};
  base::SystemClock clock;
  const double cpu_before = bench::ProcessCpuSeconds();
  if (mode == "real") {
    auto run = bench::RunRehearsal(*plan, **feeds, seconds, clock, {}, silent);
    if (!run) {
      return Fail(run.error());
    }
    PrintRehearsal(*run);
  } else {
    constexpr double kLongest = 600;
    auto run = bench::RunFlatOut(*plan, **feeds, seconds, kLongest, {}, silent);
    if (!run) {
      return Fail(run.error());
    }
    fmt::print("wall_s={:.4f} speed={:.4f} cpu_s={:.4f}\n", run->seconds, seconds / run->seconds,
               bench::ProcessCpuSeconds() - cpu_before);
  }
  return 0;
}
