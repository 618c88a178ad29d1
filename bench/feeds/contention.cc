// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/contention.h"

#include <algorithm>
#include <barrier>
#include <chrono>
#include <cmath>
#include <cstring>
#include <mutex>
#include <numeric>
#include <optional>
#include <thread>
#include <utility>

#include <fmt/format.h>

#include "base/media/video_encoder.h"
#include "bench/feeds/content.h"
#include "bench/feeds/paint_ring.h"
#include "bench/plan/encoder_options.h"
#include "profiles/words.h"

namespace bench {
namespace {

using Clock = std::chrono::steady_clock;

constexpr int kWarmUpPictures = 3;  // until the encoder's look-ahead is full
constexpr int kPictures = 8;
constexpr int kRuns = 2;
constexpr double kMemorySeconds = 0.4;

double SecondsSince(Clock::time_point begun) {
  return std::chrono::duration<double>(Clock::now() - begun).count();
}

/// Text of what went wrong first, from any thread.
class FirstFailure {
 public:
  void Note(const base::Error& error) {
    const std::scoped_lock lock(mutex_);
    if (text_.empty()) {
      text_ = error.where.empty() ? error.detail : error.where + ": " + error.detail;
    }
  }
  std::string Text() const {
    const std::scoped_lock lock(mutex_);
    return text_;
  }

 private:
  mutable std::mutex mutex_;
  std::string text_;
};

/// Pictures a second of one worker: until its last whole picture, so that
/// slow work is not counted short.
double RateOf(const WorkOnce& work, double seconds, const std::stop_token& stop,
              FirstFailure& failure) {
  const auto begun = Clock::now();
  std::int64_t pictures = 0;
  double until = 0;
  while (until < seconds && !stop.stop_requested()) {
    if (auto done = work(); !done) {
      failure.Note(done.error());
      return 0;
    }
    ++pictures;
    until = SecondsSince(begun);
  }
  return until > 0 ? static_cast<double>(pictures) / until : 0;
}

base::Result<WorkOnce> Warm(const std::function<base::Result<WorkOnce>()>& make,
                            const std::stop_token& stop) {
  auto work = make();
  for (int i = 0; work && i < kWarmUpPictures && !stop.stop_requested(); ++i) {
    if (auto done = (*work)(); !done) {
      return done.error();
    }
  }
  return work;
}

/// What `work` gives on each of `workers` threads of their own, summed when all have ended.
double SumOverThreads(std::size_t workers, const std::function<double()>& work) {
  std::vector<double> rates(workers, 0);
  {
    std::vector<std::jthread> threads;
    threads.reserve(workers);
    for (double& rate : rates) {
      threads.emplace_back([&rate, &work] { rate = work(); });
    }
  }
  return std::accumulate(rates.begin(), rates.end(), 0.0);
}

/// All workers begin together; nothing when one of them failed.
std::optional<double> TogetherPerSecond(const std::function<base::Result<WorkOnce>()>& make,
                                        int workers, double seconds, const std::stop_token& stop,
                                        FirstFailure& failure) {
  std::barrier begin(workers);
  const double sum = SumOverThreads(static_cast<std::size_t>(workers), [&] {
    auto work = Warm(make, stop);
    if (!work) {
      failure.Note(work.error());
    }
    begin.arrive_and_wait();
    return work && failure.Text().empty() ? RateOf(*work, seconds, stop, failure) : 0;
  });
  return failure.Text().empty() && !stop.stop_requested() ? std::optional(sum) : std::nullopt;
}

/// The software output of most pixels a second; null when there is none.
const OutputPlan* DearestSoftware(const RehearsalPlan& plan) {
  const OutputPlan* dearest = nullptr;
  double most = 0;
  for (const OutputPlan& output : plan.outputs) {
    const double pixels =
        static_cast<double>(output.output.raster.Pixels()) * base::ToDouble(output.output.rate);
    if (output.encoder == SoftwareEncoder(output.output.codec) && pixels > most) {
      most = pixels;
      dearest = &output;
    }
  }
  return dearest;
}

profiles::Content ContentFor(const profiles::Profile& profile, const std::string& takes) {
  const profiles::Source* source = profiles::FindSource(profile, takes);
  if (source == nullptr && !profile.sources.empty()) {
    source = &profile.sources.front();
  }
  // A clip is not decoded for this: moving people stand in for it.
  return source == nullptr || source->content == profiles::Content::kClip
             ? profiles::Content::kStage
             : source->content;
}

using Pictures = std::shared_ptr<const std::vector<base::FramePtr>>;

base::Result<Pictures> Paint(profiles::Content content, const profiles::Raster& raster) {
  const Painter painter(content, raster.width, raster.height, 1);
  auto painted = PaintRing(painter, raster, 0, kPictures, kPictures);
  if (!painted) {
    return painted.error();
  }
  return Pictures(std::make_shared<std::vector<base::FramePtr>>(std::move(*painted)));
}

base::Result<WorkOnce> OpenEncode(const OutputPlan& plan, const Pictures& pictures) {
  auto opened = base::VideoEncoder::Open(
      {plan.encoder, plan.output.raster.width, plan.output.raster.height, plan.output.rate,
       plan.output.bitrate_kbps * 1000LL, 1, false, plan.encoder_options});
  if (!opened) {
    return opened.error();
  }
  const auto encoder = std::make_shared<base::VideoEncoder>(std::move(*opened));
  const std::shared_ptr<AVPacket> packet(base::NewPacket());
  return WorkOnce([=, index = std::int64_t{0}]() mutable -> base::Status {
    const AVFrame& picture = *(*pictures)[static_cast<std::size_t>(index) % pictures->size()];
    if (auto sent = encoder->Send(picture, index++); !sent) {
      return sent;
    }
    for (;;) {
      const auto got = encoder->Receive(*packet);
      if (!got || !*got) {
        return got ? base::Status(base::Done{}) : got.error();
      }
      av_packet_unref(packet.get());
    }
  });
}

}  // namespace

std::vector<int> WorkerCounts(int cpus) {
  constexpr int kEach = 4;
  constexpr int kMost = 5;
  std::vector<int> counts;
  if (cpus <= kEach) {
    for (int workers = 1; workers <= std::max(1, cpus); ++workers) {
      counts.push_back(workers);
    }
    return counts;
  }
  for (int i = 0; i < kMost; ++i) {
    const int workers =
        static_cast<int>(std::lround(std::pow(cpus, static_cast<double>(i) / (kMost - 1))));
    if (counts.empty() || workers > counts.back()) {
      counts.push_back(workers);
    }
  }
  return counts;
}

std::vector<ContentionPoint> MeasureWorkers(const std::function<base::Result<WorkOnce>()>& make,
                                            const ContentionOptions& options, std::string& failure,
                                            const std::stop_token& stop) {
  std::vector<ContentionPoint> points;
  FirstFailure first;
  const std::vector<int> counts = WorkerCounts(options.cpus);
  const double each = options.seconds / (kRuns * static_cast<double>(counts.size()));
  for (int run = 0; run < kRuns; ++run) {
    for (std::size_t i = 0; i < counts.size(); ++i) {
      const auto rate = TogetherPerSecond(make, counts[i], each, stop, first);
      if (!rate) {
        failure = stop.stop_requested() ? "interrupted" : first.Text();
        return points;
      }
      if (run == 0) {
        points.push_back({counts[i], *rate});
      } else {
        points[i].per_second = std::max(points[i].per_second, *rate);
      }
    }
  }
  return points;
}

double MeasureMemoryTraffic(int cpus, std::int64_t block_bytes, double seconds) {
  const auto size = static_cast<std::size_t>(block_bytes);
  const auto workers = static_cast<std::size_t>(std::max(1, cpus));
  std::barrier begin(static_cast<std::ptrdiff_t>(workers));
  return SumOverThreads(workers, [&] {
    std::vector<std::uint8_t> from(size, 1);
    std::vector<std::uint8_t> to(size, 2);
    begin.arrive_and_wait();
    const auto begun = Clock::now();
    std::int64_t copies = 0;
    double until = 0;
    while (until < seconds) {
      // Back and forth, so that each copy needs the one before.
      std::memcpy(to.data(), from.data(), size);
      to[static_cast<std::size_t>(copies) % size] ^= 1U;
      std::swap(from, to);
      ++copies;
      until = SecondsSince(begun);
    }
    return 2.0 * static_cast<double>(copies) * static_cast<double>(size) / until;
  });
}

Contention MeasureContention(const RehearsalPlan& plan, const ContentionOptions& options,
                             const std::stop_token& stop) {
  Contention contention;
  const auto begun = Clock::now();
  const OutputPlan* const output = DearestSoftware(plan);
  if (output == nullptr) {
    contention.failure = "the production encodes nothing in software";
    return contention;
  }
  const profiles::Content content = ContentFor(plan.profile, output->output.takes);
  contention.work =
      fmt::format("{} {}, {}, one thread each", profiles::ToText(output->output.raster),
                  EncoderText(output->encoder, output->output.effort), profiles::ToWord(content));
  const auto pictures = Paint(content, output->output.raster);
  if (!pictures) {
    contention.failure = pictures.error().detail;
    return contention;
  }
  contention.points = MeasureWorkers([&] { return OpenEncode(*output, *pictures); }, options,
                                     contention.failure, stop);
  if (contention.failure.empty() && !stop.stop_requested()) {
    // Larger than the last-level cache all together, else the cache is measured.
    const std::int64_t block = std::clamp<std::int64_t>(
        2 * plan.cache_bytes / std::max(1, options.cpus), 8LL << 20, 64LL << 20);
    contention.memory_bytes_per_second = MeasureMemoryTraffic(options.cpus, block, kMemorySeconds);
  }
  contention.seconds = SecondsSince(begun);
  return contention;
}

}  // namespace bench
