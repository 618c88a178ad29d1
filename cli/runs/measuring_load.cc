// SPDX-License-Identifier: Apache-2.0
//
// What follows the rehearsal as far as there is time: extra load, full speed, workers, room.

#include <algorithm>
#include <cstddef>
#include <filesystem>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "bench/ballast/run.h"
#include "bench/feeds/contention.h"
#include "bench/plan/plan.h"
#include "bench/runs/hardware_sessions.h"
#include "bench/runs/rehearsal.h"
#include "cli/runs/measuring.h"
#include "cli/runs/room_search.h"
#include "cli/system/outcome.h"
#include "cli/system/stop_after.h"
#include "profiles/text/growth.h"
#include "report/data/document.h"
#include "report/loads/cpu_use.h"
#include "report/loads/judged_run.h"
#include "report/predict/room.h"

namespace cli {
namespace {

// What the search for headroom by ballast is told of the machine and the rehearsal before it.

/// Bytes a second that the rehearsal's recordings wrote, by folder.
std::vector<bench::BallastDisk> DisksOf(const report::Evidence& evidence,
                                        const bench::RehearsalPlan& plan) {
  const bench::Rehearsal& rehearsal = *evidence.results.rehearsal;
  std::vector<bench::BallastDisk> disks;
  for (std::size_t i = 0; i < plan.outputs.size() && i < rehearsal.outputs.size(); ++i) {
    const bench::OutputPlan& output = plan.outputs[i];
    if (output.stream() || output.format == "null") {
      continue;
    }
    const auto folder = std::filesystem::path(output.target).parent_path();
    auto place = std::find_if(disks.begin(), disks.end(),
                              [&](const bench::BallastDisk& one) { return one.folder == folder; });
    if (place == disks.end()) {
      place = disks.insert(disks.end(), bench::BallastDisk{folder, 0, 0});
    }
    place->own_bytes_per_second +=
        static_cast<double>(rehearsal.outputs[i].bytes) / std::max(rehearsal.seconds, 1.0);
  }
  for (bench::BallastDisk& place : disks) {
    for (const bench::DiskRun& measured : evidence.results.disks) {
      if (measured.folder == place.folder.string()) {
        place.sustained_bytes_per_second = measured.sustained_bytes_per_second;
      }
    }
  }
  return disks;
}

/// Whether ballast can tell something: the rehearsal ran to its end and dropped nothing by itself.
bool WorthBallast(const report::Evidence& evidence) {
  const auto run = report::JudgeRun(evidence.results, evidence.profile.margins);
  return run && evidence.results.rehearsal->complete && run->due > 0 && run->Dropped() == 0;
}

/// From inventory, telemetry, disk test and rehearsal of `evidence`; `seconds` for all kinds.
bench::BallastOptions BallastOptionsFrom(const report::Evidence& evidence,
                                         const bench::RehearsalPlan& plan, double seconds) {
  const probes::CpuInventory& cpu = evidence.inventory.cpu;
  bench::BallastOptions options;
  options.seconds = seconds;
  options.usable_cpus = cpu.usable_cpus.value_or(cpu.threads.value_or(1));
  if (const auto use = report::JudgedCpuUse(evidence.results, evidence.telemetry)) {
    options.own_cpus = use->own;
    options.others_cpus = use->Taken().value_or(0);  // where it was not read the search tells
  }
  options.cache_bytes = plan.cache_bytes;
  options.available_memory_bytes =
      cpu.memory_available_bytes.value_or(options.available_memory_bytes);
  options.memory_traffic_bytes_per_second = evidence.demand.memory_traffic_bytes_per_second;
  options.disks = DisksOf(evidence, plan);
  return options;
}

/// Sessions of a hardware encoder that are tried beyond those of the profile.
constexpr int kMoreHardwareSessions = 8;
constexpr double kHardwareSeconds = 1;
/// Less is no time for a search.
constexpr double kLeastBallastSeconds = 10;
/// Less gives no window to judge by.
constexpr double kLeastFlatOutSeconds = 4;
constexpr double kLeastContentionSeconds = 2;
/// Emptying queues, closing encoders and files.
constexpr double kWindingUpSeconds = 6;
constexpr const char* kNoTimeLeft = "no time was left in a quick run; a longer one has it";

}  // namespace

/// After what is left for the full-speed run and the workers, which the verdict needs more.
void Measuring::TryBallast(const bench::RehearsalPlan& plan, const bench::PreparedFeeds& feeds) {
  std::vector<std::string>& notes = evidence_.results.rehearsal->plan;
  if (!WorthBallast(evidence_)) {
    notes.emplace_back("extra load: none was added, since the production did not hold by itself");
    return;
  }
  const double reserved_s = durations_.flat_out_s + durations_.contention_s + kWindingUpSeconds;
  const double share_s = left_.Share(durations_.ballast_s, kLeastBallastSeconds, reserved_s);
  if (Interrupted() || durations_.ballast_s < kLeastBallastSeconds) {
    return;
  }
  if (share_s <= 0) {
    notes.push_back(fmt::format("extra load: none was added: {}", kNoTimeLeft));
    return;
  }
  durations_.ballast_s = share_s;
  RunBallast(plan, feeds);
}

void Measuring::RunBallast(const bench::RehearsalPlan& plan, const bench::PreparedFeeds& feeds) {
  Begin("extra load", durations_.ballast_s);
  probes::TelemetrySampler sampler(root_, Telemetry(durations_.ballast_s), clock_);
  auto ballast = bench::RunBallast(
      plan, feeds, BallastOptionsFrom(evidence_, plan, durations_.ballast_s), clock_,
      interrupt_.Token(), [this](const std::string& level) { progress_.Note(level); });
  evidence_.ballast_telemetry = sampler.Stop();
  if (ballast) {
    evidence_.results.ballast = *std::move(ballast);
  } else {
    evidence_.results.rehearsal->plan.push_back("extra load: did not start: " +
                                                ErrorLine(ballast.error()));
  }
}

void Measuring::RunFlatOut(const bench::RehearsalPlan& plan, const bench::PreparedFeeds& feeds,
                           const bench::Progress& note) {
  const double seconds =
      left_.Share(durations_.flat_out_s, kLeastFlatOutSeconds, kWindingUpSeconds);
  if (seconds <= 0) {
    evidence_.results.flat_out = bench::FlatOut{};
    evidence_.results.flat_out->stopped_because = kNoTimeLeft;
    evidence_.results.rehearsal->plan.push_back(
        fmt::format("full-speed run: not made: {}", kNoTimeLeft));
    return;
  }
  Begin("full-speed test", seconds);
  auto flat_out = bench::RunFlatOut(plan, feeds, seconds * kFlatOutSpeedLimit, seconds,
                                    interrupt_.Token(), note);
  if (flat_out) {
    evidence_.results.flat_out = *std::move(flat_out);
    return;
  }
  evidence_.results.flat_out = bench::FlatOut{};
  evidence_.results.flat_out->stopped_because = ErrorLine(flat_out.error());
  evidence_.results.rehearsal->plan.push_back("full-speed run: did not start: " +
                                              ErrorLine(flat_out.error()));
}

base::Result<bench::FlatOut> Measuring::FlatOutWith(int added, const std::string& like,
                                                    const bench::PreparedFeeds& feeds,
                                                    double seconds, const bench::Progress& note) {
  const auto grown = profiles::WithMoreSources(chosen_.profile, like, added);
  if (!grown) {
    return grown.error();
  }
  const auto plan = bench::MakePlan(*grown, PlanChoices());
  if (!plan) {
    return plan.error();
  }
  const auto shared = bench::ShareFeeds(*plan, feeds, like);
  if (!shared) {
    return shared.error();
  }
  return bench::RunFlatOut(*plan, **shared, seconds * kFlatOutSpeedLimit, seconds,
                           interrupt_.Token(), note);
}

/// Near where the PC is full: one production alone does not tell what encoders that share threads
/// and light feeds cost among many. Each run follows from what the ones before it showed.
void Measuring::RunGrownFlatOut(const bench::PreparedFeeds& feeds, const bench::Progress& note) {
  const std::string like = profiles::CommonestKind(chosen_.profile).like;
  for (int runs = 0; runs < durations_.grown_flat_outs && !Interrupted(); ++runs) {
    const auto added = report::MoreToMeasure(evidence_);
    const double seconds = left_.Share(durations_.grown_flat_out_s, kLeastFlatOutSeconds,
                                       durations_.contention_s + kWindingUpSeconds);
    if (!added || seconds <= 0) {
      return;
    }
    Begin(fmt::format("full-speed test with {} more", *added), seconds);
    auto flat_out = FlatOutWith(*added, like, feeds, seconds, note);
    if (!flat_out) {
      evidence_.results.rehearsal->plan.push_back(fmt::format(
          "full-speed run with {} more: did not start: {}", *added, ErrorLine(flat_out.error())));
      return;
    }
    evidence_.results.grown_flat_out.push_back({like, *added, *std::move(flat_out)});
  }
}

void Measuring::MeasureWorkers(const bench::RehearsalPlan& plan, int cpus) {
  const double seconds = left_.Share(durations_.contention_s, kLeastContentionSeconds, 0);
  if (seconds <= 0) {
    evidence_.results.contention = bench::Contention{};
    evidence_.results.contention->failure = kNoTimeLeft;
    return;
  }
  Begin("CPU scaling test", seconds);
  const StopAfter stop(left_.Seconds(), interrupt_.Token());
  evidence_.results.contention = bench::MeasureContention(plan, {cpus, seconds}, stop.Token());
  if (stop.TimeIsUp() && !evidence_.results.contention->failure.empty()) {
    evidence_.results.contention->failure = kNoTimeLeft;
  }
}

void Measuring::MeasureRoom() {
  if (Interrupted() || durations_.contention_s <= 0) {
    return;
  }
  bench::PlanOptions choices = PlanChoices();
  // Nobody's server is to get the streams of one rehearsal after another.
  choices.use_own_urls = false;
  choices.keep_recordings = false;
  const auto plan = bench::MakePlan(chosen_.profile, choices);
  if (!plan) {
    return;  // the rehearsal has said why
  }
  MeasureWorkers(*plan, std::max(1, static_cast<int>(choices.usable_cpus)));
  for (const bench::HardwareNeed& need : bench::HardwareNeeds(*plan)) {
    evidence_.results.hardware_encodes.push_back(bench::MeasureHardware(
        need, kMoreHardwareSessions, clock_, kHardwareSeconds, interrupt_.Token()));
  }
  if (durations_.search_s > 0 && !Interrupted()) {
    evidence_.results.search =
        SearchRoom({chosen_.profile, evidence_,
                    [&](const profiles::Profile& grown) { return bench::MakePlan(grown, choices); },
                    clock_, progress_, interrupt_.Token(), durations_.search_s});
  }
}

}  // namespace cli
