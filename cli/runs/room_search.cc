// SPDX-License-Identifier: Apache-2.0
//
// One rehearsal after another with sources added, as the search asks for them.

#include "cli/runs/room_search.h"

#include <algorithm>
#include <map>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "bench/runs/capacity_search.h"
#include "bench/runs/hardware_sessions.h"
#include "bench/runs/lost_cause.h"
#include "profiles/text/growth.h"
#include "report/loads/judged_run.h"
#include "report/predict/room.h"

namespace cli {
namespace {

/// Share of the memory that is free which the feeds' pictures may take.
constexpr double kMemoryForFeeds = 0.6;
/// The two seconds that are left out at a start, and two to judge.
constexpr double kShortTrialSeconds = 4;

/// The stage that lost most frames.
bench::Stage WorstStage(const bench::Rehearsal& rehearsal) {
  std::map<bench::Stage, std::int64_t> lost;
  for (const bench::DropRun& run : rehearsal.drops) {
    lost[run.stage] += run.frames;
  }
  const auto worst = std::max_element(
      lost.begin(), lost.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
  return worst == lost.end() ? bench::Stage::kNone : worst->first;
}

class RoomTrials {
 public:
  /// At most `most` are ever added.
  RoomTrials(const SearchParts& parts, std::string like, int most, double cpus)
      : parts_(parts), like_(std::move(like)), most_(most), cpus_(cpus) {}

  base::Result<bench::SearchRun> Run(int added, bench::TrialLength length) {
    const double seconds = length == bench::TrialLength::kShort
                               ? std::min(kShortTrialSeconds, parts_.seconds)
                               : parts_.seconds;
    auto plan = PlanWith(added);
    if (!plan) {
      return plan.error();
    }
    if (auto painted = PaintFor(added); !painted) {
      return painted.error();
    }
    parts_.progress.Begin(fmt::format("rehearsal with {} more", added), seconds);
    bench::LostCause lost(plan->profile, seconds);
    std::stop_source enough;
    const std::stop_callback pass_on(parts_.stop, [&enough] { enough.request_stop(); });
    const auto rehearsal =
        bench::RunRehearsal(*plan, *feeds_, seconds, parts_.clock, enough.get_token(),
                            [&](double fraction, std::int64_t dropped) {
                              parts_.progress.Note(fmt::format("{} dropped", dropped));
                              if (lost.Look(fraction, dropped)) {
                                enough.request_stop();
                              }
                            });
    if (!rehearsal) {
      return WithoutRun(*plan, added, rehearsal.error());
    }
    if (!rehearsal->complete && (!lost.found() || parts_.stop.stop_requested())) {
      return base::Error{base::ErrorKind::kIo, "", rehearsal->stopped_because};
    }
    return Judged(*rehearsal, added);
  }

 private:
  base::Result<bench::RehearsalPlan> PlanWith(int added) const {
    auto grown = profiles::WithMoreSources(parts_.profile, like_, added);
    if (!grown) {
      return grown.error();
    }
    return parts_.plan(*grown);
  }

  /// Added sources come last, so that feeds of a larger production serve a
  /// smaller one; one more than is carried will be asked for.
  base::Status PaintFor(int added) {
    if (feeds_ && added <= painted_) {
      return base::Done{};
    }
    feeds_.reset();
    const int painting = std::min(added + 1, most_);
    auto plan = PlanWith(painting);
    if (!plan) {
      return plan.error();
    }
    parts_.progress.Begin("preparing test pictures", 0);
    auto feeds = bench::PrepareFeeds(*plan, parts_.stop);
    if (!feeds) {
      return feeds.error();
    }
    feeds_ = std::move(*feeds);
    painted_ = painting;
    return base::Done{};
  }

  /// A hardware encoder that refuses one session more has run out; whatever
  /// else cannot start is no answer.
  base::Result<bench::SearchRun> WithoutRun(const bench::RehearsalPlan& plan, int added,
                                            const base::Error& why) const {
    if (parts_.stop.stop_requested() || bench::HardwareNeeds(plan).empty()) {
      return why;
    }
    bench::SearchRun run;
    run.added = added;
    run.due = 1;
    run.dropped = 1;
    run.stage = bench::Stage::kEncode;
    return run;
  }

  bench::SearchRun Judged(const bench::Rehearsal& rehearsal, int added) const {
    bench::Results results;
    results.rehearsal = rehearsal;
    const auto judged = report::JudgeRun(results, parts_.profile.margins);
    bench::SearchRun run;
    run.added = added;
    run.seconds = judged->hours * 3600;
    run.due = judged->due;
    run.dropped = judged->Dropped();
    run.load = cpus_ > 0 ? rehearsal.cpu_seconds / rehearsal.seconds / cpus_ : 0;
    run.carried = judged->due > 0 && judged->Permitted();
    run.stage = run.dropped > 0 ? WorstStage(rehearsal) : bench::Stage::kNone;
    return run;
  }

  const SearchParts& parts_;
  const std::string like_;
  const int most_;
  const double cpus_;
  bench::FeedsPtr feeds_;
  int painted_ = -1;
};

/// How many more feeds' pictures the free memory holds.
int FeedsThatFit(const report::Evidence& evidence) {
  std::int64_t largest = 0;
  for (const bench::FeedLedger& feed : evidence.results.rehearsal->feeds) {
    largest = std::max(largest, feed.ring_bytes);
  }
  const auto& available = evidence.inventory.cpu.memory_available_bytes;
  if (!available.known() || largest <= 0) {
    return report::kMostAddedSources;
  }
  const double room = kMemoryForFeeds * static_cast<double>(*available) -
                      static_cast<double>(evidence.results.rehearsal->peak_resident_bytes);
  return static_cast<int>(
      std::clamp(room / static_cast<double>(largest), 0.0, 1.0 * report::kMostAddedSources));
}

}  // namespace

bench::CapacitySearch SearchRoom(const SearchParts& parts) {
  bench::CapacitySearch search;
  search.like = profiles::CommonestKind(parts.profile).like;
  const auto& rehearsal = parts.evidence.results.rehearsal;
  const auto judged = report::JudgeRun(parts.evidence.results, parts.profile.margins);
  if (!rehearsal || !rehearsal->complete || !judged || judged->due <= 0) {
    search.stopped_because = "the production was not rehearsed to its end";
    return search;
  }
  if (!judged->Permitted()) {
    search.stopped_because = "the production drops frames as it is";
    return search;
  }
  bench::SearchOptions options;
  options.like = search.like;
  options.limit = std::min({report::kMostAddedSources, FeedsThatFit(parts.evidence),
                            profiles::MostAddedSources(parts.profile, search.like)});
  double cpus = 0;
  if (const auto capacity = report::PredictCapacity(parts.evidence)) {
    options.predicted = capacity->added_sources_predicted;
    const report::SourceRoom* const room = report::RoomFor(*capacity, search.like);
    if (room != nullptr && !room->shares.empty()) {
      cpus = room->shares.front().capacity.value_or(0);
      options.plain_load = cpus > 0 ? room->shares.front().now / cpus : 0;
    }
  }
  RoomTrials trials(parts, search.like, options.limit, cpus);
  const std::int64_t begun_ns = parts.clock.NowNs();
  search = bench::SearchCapacity(
      options, [&](int added, bench::TrialLength length) { return trials.Run(added, length); },
      parts.stop);
  search.seconds = static_cast<double>(parts.clock.NowNs() - begun_ns) / 1e9;
  return search;
}

}  // namespace cli
