// SPDX-License-Identifier: Apache-2.0

#include "bench/runs/rehearsal.h"

#include <algorithm>
#include <chrono>
#include <future>
#include <map>
#include <thread>

#include <fmt/format.h>

#include "base/stats/drop_bound.h"
#include "base/stats/percentile.h"
#include "bench/data/lost_pictures.h"
#include "bench/disk/file.h"
#include "bench/feeds/clip_reader.h"
#include "bench/feeds/prepared_feeds.h"
#include "bench/pipeline/pipeline.h"
#include "bench/plan/plan.h"
#include "bench/runs/run_watch.h"
#include "bench/runs/warm_up.h"
#include "bench/stages/stage_cpu.h"
#include "profiles/demand/memory_demand.h"

namespace bench {

void DeleteFeeds::operator()(PreparedFeeds* feeds) const {
  delete feeds;
}

namespace {

using namespace std::chrono_literals;

constexpr std::int64_t kNsPerSecond = 1'000'000'000;
/// Threads are opened and waiting by then.
constexpr std::int64_t kLeadInNs = 200'000'000;
/// The last look at the threads' CPU time comes this long before the cameras end.
constexpr std::int64_t kLastLookNs = 60'000'000;

/// CPU time between two looks, by thread name.
std::map<std::string, double> Between(const std::map<std::string, double>& before,
                                      const std::map<std::string, double>& after) {
  std::map<std::string, double> spent;
  for (const auto& [name, seconds] : after) {
    const auto found = before.find(name);
    spent[name] = std::max(0.0, seconds - (found == before.end() ? 0 : found->second));
  }
  return spent;
}

void FillAccounts(const Pipeline& pipeline, const StopReason& stop, Rehearsal& result) {
  result.outputs = pipeline.OutputAccounts();
  result.feeds = pipeline.FeedAccounts();
  result.drops = pipeline.Drops();
  result.drop_runs_left_out = pipeline.DropRunsLeftOut();
  result.warm_up_seconds = WarmUpSeconds(pipeline.AllDeliveringNs());
  for (OutputLedger& output : result.outputs) {
    output.warm_up_dropped = DroppedBefore(output.seconds, result.warm_up_seconds);
    if (stop.Of(StopPart::kOutput, output.name) || stop.Of(StopPart::kEncode, output.encode)) {
      output.failure = stop.text;
    }
  }
  result.drops_per_hour_upper_95 = base::DropsPerHourUpper95(
      LostPictures(result), std::max(0.0, result.seconds - result.warm_up_seconds));
}

/// What the cameras' senders and the streams' receivers took: no production has them.
double SimulationSeconds(const std::vector<StageCost>& stages) {
  double seconds = 0;
  for (const StageCost& cost : stages) {
    seconds += IsSimulation(cost.stage) ? cost.cpu_seconds : 0;
  }
  return seconds;
}

/// What is resident now (the program, the feeds' rings) and what the plan will add.
std::int64_t PredictedResidentBytes(const RehearsalPlan& plan) {
  double bytes = profiles::PicturesInFlightBytes(plan.profile);
  std::set<int> counted;
  for (const OutputPlan& output : plan.outputs) {
    if (counted.insert(output.encode_number).second) {
      bytes += profiles::EncoderBytes(output.output, output.threads);
    }
  }
  return ResidentBytes() + static_cast<std::int64_t>(bytes);
}

}  // namespace

base::Status CheckBeforeLoad(const RehearsalPlan& plan, const std::stop_token& stop) {
  for (const profiles::Source& source : plan.profile.sources) {
    if (source.content == profiles::Content::kClip) {
      auto clip = ReadClip(plan.profile_folder / source.clip, 1, stop);
      if (!clip) {
        return clip.error();
      }
    }
  }
  for (const OutputPlan& output : plan.outputs) {
    std::error_code unknown;
    if (output.keep_file && std::filesystem::exists(output.target, unknown)) {
      return base::Error{base::ErrorKind::kInvalid, output.target,
                         "a file of this name exists and is not overwritten"};
    }
  }
  return base::Done{};
}

base::Result<FeedsPtr> PrepareFeeds(const RehearsalPlan& plan, const std::stop_token& stop,
                                    int most_pictures) {
  const auto& sources = plan.profile.sources;
  const std::int64_t cache_share =
      plan.cache_bytes / static_cast<std::int64_t>(std::max<std::size_t>(sources.size(), 1));
  FeedsPtr feeds(new PreparedFeeds);
  const std::size_t at_once = std::max(1U, std::thread::hardware_concurrency());
  // CPUs that no feed of its own keeps busy help the others.
  const auto painters = static_cast<int>(
      std::max<std::size_t>(1, at_once / std::max<std::size_t>(1, sources.size())));
  for (std::size_t first = 0; first < sources.size(); first += at_once) {
    std::vector<std::future<base::Result<FeedRing>>> making;
    for (std::size_t i = first; i < std::min(sources.size(), first + at_once); ++i) {
      making.push_back(std::async(std::launch::async, [&, i] {
        const int pictures = RingFrames(sources[i], cache_share);
        return MakeFeedRing(sources[i], plan.profile_folder,
                            most_pictures > 0
                                ? std::min(pictures, std::max(most_pictures, kFewestRingFrames))
                                : pictures,
                            static_cast<std::uint32_t>(i + 1), stop, painters);
      }));
    }
    for (auto& made : making) {
      auto ring = made.get();
      if (!ring) {
        return ring.error();
      }
      feeds->rings.push_back(std::move(*ring));
    }
    if (stop.stop_requested()) {
      return base::Error{base::ErrorKind::kIo, "feeds", "interrupted"};
    }
  }
  return feeds;
}

base::Result<FeedsPtr> ShareFeeds(const RehearsalPlan& grown, const PreparedFeeds& feeds,
                                  const std::string& like) {
  const auto& sources = grown.profile.sources;
  const auto shown = std::find_if(sources.begin(), sources.end(),
                                  [&like](const auto& source) { return source.name == like; });
  const auto at = static_cast<std::size_t>(shown - sources.begin());
  if (at >= feeds.rings.size()) {
    return base::Error{base::ErrorKind::kInvalid, "feeds", "no feed like " + like};
  }
  FeedsPtr shared(new PreparedFeeds);
  for (std::size_t i = 0; i < sources.size(); ++i) {
    shared->rings.push_back(ShareRing(feeds.rings[i < feeds.rings.size() ? i : at]));
  }
  return shared;
}

base::Result<Rehearsal> RunRehearsal(const RehearsalPlan& plan, const PreparedFeeds& feeds,
                                     double seconds, base::Clock& clock,
                                     const std::stop_token& stop, const Progress& progress) {
  Rehearsal result;
  result.predicted_resident_bytes = PredictedResidentBytes(plan);
  RealTimePacer pacer(clock);
  RunControl control;
  Pipeline pipeline(plan, feeds.rings, pacer, control);
  const StopOnRequest stop_on_request(stop, control);
  const RoomGuard guard(plan);
  if (auto opened = OpenOrEnd(pipeline, control); !opened) {
    if (stop.stop_requested()) {
      result.stopped_because = control.reason();
      return result;
    }
    return opened.error();
  }
  const auto end_ns = static_cast<std::int64_t>(seconds * 1e9);
  const auto threads_before = ThreadCpuSeconds();
  const double cpu_before = ProcessCpuSeconds();
  auto threads_after = threads_before;
  result.zero_ns = clock.NowNs() + kLeadInNs;
  pacer.Begin(result.zero_ns);
  pipeline.Start(end_ns);
  bool last_look_taken = false;
  Watch(pipeline, control).Run([&]() -> std::chrono::nanoseconds {
    const std::int64_t now_ns = pacer.NowNs();
    guard.Check(control);
    if (!last_look_taken && !control.stopped()) {
      threads_after = ThreadCpuSeconds();
      result.cpu_seconds = ProcessCpuSeconds() - cpu_before;
      last_look_taken = now_ns >= end_ns - kLastLookNs;
    }
    result.peak_resident_bytes = std::max(result.peak_resident_bytes, ResidentBytes());
    progress(std::clamp(static_cast<double>(now_ns) / static_cast<double>(end_ns), 0.0, 1.0),
             pipeline.DroppedSoFar());
    const std::int64_t to_last_look_ns = end_ns - kLastLookNs - now_ns;
    return to_last_look_ns > 0 ? std::min<std::chrono::nanoseconds>(
                                     200ms, std::chrono::nanoseconds(to_last_look_ns))
                               : std::chrono::nanoseconds(100ms);
  });
  pipeline.CloseAccounts();
  result.complete = !control.stopped();
  result.stopped_because = control.reason();
  result.seconds = result.complete
                       ? seconds
                       : std::clamp(static_cast<double>(pacer.NowNs()) / 1e9, 0.0, seconds);
  FillAccounts(pipeline, control.stop_reason(), result);
  result.stages = pipeline.StageCosts(Between(threads_before, threads_after));
  result.writeback_policy = WritebackBySecondText();
  result.simulation_cpu_seconds = SimulationSeconds(result.stages);
  result.plan = plan.notes;
  result.plan.insert(result.plan.end(), pipeline.notes().begin(), pipeline.notes().end());
  if (pipeline.SoundDropped() > 0) {
    result.plan.push_back(
        fmt::format("sound: {} packets found no room at a writer", pipeline.SoundDropped()));
  }
  return result;
}

namespace {

/// Seconds of production that are made, mean of the outputs. Cameras go ahead in leaps, as far as
/// queues have room, and tell less.
double SecondsMade(const RehearsalPlan& plan, const Pipeline& pipeline, const Pacer& pacer) {
  const std::vector<Ledger::Totals> totals = pipeline.TotalsNow();  // outputs first
  if (plan.outputs.empty()) {
    return static_cast<double>(pacer.NowNs()) / 1e9;
  }
  double sum = 0;
  for (std::size_t i = 0; i < plan.outputs.size(); ++i) {
    sum += static_cast<double>(totals[i].delivered) / base::ToDouble(plan.outputs[i].output.rate);
  }
  return sum / static_cast<double>(plan.outputs.size());
}

}  // namespace

base::Result<FlatOut> RunFlatOut(const RehearsalPlan& asked, const PreparedFeeds& feeds,
                                 double production_seconds, double wall_seconds,
                                 const std::stop_token& stop, const Progress& progress) {
  const RehearsalPlan plan = ThrowawayPlan(asked, "flat-out-");
  constexpr std::int64_t kLongestLeadNs = 1000'000'000;
  FlatOutPacer pacer(kLongestLeadNs);
  RunControl control;
  Pipeline pipeline(plan, feeds.rings, pacer, control);
  const StopOnRequest stop_on_request(stop, control);
  const RoomGuard guard(plan);
  if (auto opened = OpenOrEnd(pipeline, control); !opened) {
    return opened.error();
  }
  base::SystemClock clock;
  FlatOut result;
  const double cpu_before = ProcessCpuSeconds();
  const std::int64_t begun_ns = clock.NowNs();
  pipeline.Start(static_cast<std::int64_t>(production_seconds * 1e9));
  std::int64_t window_begun_ns = begun_ns;
  double window_from_s = 0;
  Watch(pipeline, control).Run([&]() -> std::chrono::nanoseconds {
    const std::int64_t now_ns = clock.NowNs();
    guard.Check(control);
    const double wall = static_cast<double>(now_ns - begun_ns) / 1e9;
    // Once stopped, what remains is emptying: no part of the speed.
    if (now_ns - window_begun_ns >= kNsPerSecond && !control.stopped()) {
      const double made_s = SecondsMade(plan, pipeline, pacer);
      result.window_speeds.push_back((made_s - window_from_s) * 1e9 /
                                     static_cast<double>(now_ns - window_begun_ns));
      window_begun_ns = now_ns;
      window_from_s = made_s;
    }
    if (wall >= wall_seconds) {
      control.Stop({StopPart::kPlan, "", "time is up"});
    }
    progress(std::clamp(wall / wall_seconds, 0.0, 1.0), 0);
    return 100ms;
  });
  result.seconds = static_cast<double>(clock.NowNs() - begun_ns) / 1e9;
  result.cpu_seconds = ProcessCpuSeconds() - cpu_before;
  result.complete = !control.stopped() || control.stop_reason().part == StopPart::kPlan;
  result.stopped_because = result.complete ? "" : control.reason();
  result.speed = SustainedSpeed(result.window_speeds);
  if (result.speed == 0 && result.seconds > 0) {
    result.speed = static_cast<double>(pacer.NowNs()) / 1e9 / result.seconds;
  }
  return result;
}

}  // namespace bench
