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
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <string>
#include <thread>
#include <vector>

#include <fmt/format.h>

#include "base/media/ffmpeg.h"
#include "base/text.h"
#include "bench/feeds/feed_ring.h"
#include "bench/pipeline/compose.h"
#include "bench/pipeline/ingest.h"
#include "bench/runs/rehearsal.h"
#include "bench/stages/latest_picture.h"
#include "bench/stages/stage_cpu.h"
#include "profiles/profile.h"
#include "profiles/text/reader.h"

namespace bench {
namespace {

// The copies that a run cannot do without, by themselves: what the engine's overhead is held
// against.

std::int64_t Frames(const base::Rational& rate, double seconds) {
  return static_cast<std::int64_t>(seconds * base::ToDouble(rate));
}

/// One function per chain of the engine, each to be run on a thread of its own.
class Copies {
 public:
  explicit Copies(const profiles::Profile& profile)
      : profile_(profile), latest_(profile.sources.size()) {
    constexpr int kRingFrames = 12;
    rings_.reserve(latest_.size());
    ingests_.reserve(latest_.size());
    for (const profiles::Source& source : profile.sources) {
      rings_.push_back(std::move(*MakeFeedRing(source, "", kRingFrames, 1, {})));
      ingests_.push_back(
          std::move(*Ingest::Open(source, rings_.back().packet_codec, SourcePlan{})));
    }
  }

  void Capture(std::size_t source, double seconds) {
    const FeedRing& ring = rings_[source];
    for (std::int64_t k = 0; k < Frames(profile_.sources[source].rate, seconds); ++k) {
      CaptureItem item;
      item.index = k;
      item.picture = base::Share(*ring.pictures[static_cast<std::size_t>(k) % ring.size()]);
      (void)ingests_[source].Take(item, [&](base::FramePtr picture, std::int64_t /*index*/) {
        latest_[source].Set(std::move(picture));
      });
    }
  }

  void Program(double seconds) {
    const profiles::Raster& raster = profile_.program_raster;
    ProgramComposer composer(latest_.size());
    PicturePool pool(kWorkingFormat, raster.width, raster.height);
    const double rate = base::ToDouble(profile_.program_rate);
    for (std::int64_t k = 0; k < Frames(profile_.program_rate, seconds); ++k) {
      auto onto = pool.Get();
      (void)composer.Compose(Pictures(), static_cast<double>(k) / rate, **onto);
      program_.Set(std::move(*onto));
    }
  }

  void View(const profiles::Multiview& view, double seconds) {
    MultiviewComposer composer(latest_.size() + 1, view.raster.width, view.raster.height);
    PicturePool pool(kWorkingFormat, view.raster.width, view.raster.height);
    for (std::int64_t k = 0; k < Frames(view.rate, seconds); ++k) {
      auto onto = pool.Get();
      std::vector<base::FramePtr> tiles = Pictures();
      tiles.push_back(program_.Get());
      (void)composer.Compose(tiles, **onto);
    }
  }

 private:
  std::vector<base::FramePtr> Pictures() const {
    std::vector<base::FramePtr> newest;
    newest.reserve(latest_.size() + 1);
    for (const LatestPicture& picture : latest_) {
      newest.push_back(picture.Get());
    }
    return newest;
  }

  const profiles::Profile& profile_;
  std::vector<FeedRing> rings_;
  std::vector<Ingest> ingests_;
  std::vector<LatestPicture> latest_;
  LatestPicture program_;
};

/// Seconds that the capture copies and conversions, the program's drawing and
/// the multiview's drawing take for `seconds` of production, one after the
/// other on as many threads as the engine has chains, with nothing between.
double SecondsForCopies(const profiles::Profile& profile, double seconds) {
  Copies copies(profile);
  const auto begun = std::chrono::steady_clock::now();
  std::vector<std::jthread> threads;
  threads.reserve(profile.sources.size() + 2);
  for (std::size_t i = 0; i < profile.sources.size(); ++i) {
    threads.emplace_back([&copies, i, seconds] { copies.Capture(i, seconds); });
  }
  threads.emplace_back([&] { copies.Program(seconds); });
  if (profile.multiview) {
    threads.emplace_back([&] { copies.View(*profile.multiview, seconds); });
  }
  threads.clear();  // joins
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
}

}  // namespace
}  // namespace bench

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
