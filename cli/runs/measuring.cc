// SPDX-License-Identifier: Apache-2.0
//
// Calls probes and bench one after another and keeps what each hands back.

#include "cli/runs/measuring.h"

#include <algorithm>
#include <cstdint>
#include <map>
#include <set>
#include <stop_token>
#include <string>
#include <thread>
#include <utility>

#include <fmt/format.h>

#include "base/ip_address.h"
#include "bench/disk/guard.h"
#include "bench/disk/run.h"
#include "bench/runs/cost_table.h"
#include "bench/runs/rehearsal.h"
#include "bench/stages/stage_cpu.h"
#include "cli/system/outcome.h"
#include "cli/system/program_parts.h"
#include "cli/system/question.h"
#include "cli/system/show.h"
#include "cli/system/stop_after.h"
#include "probes/pci_gpu/codec_trials.h"
#include "probes/sampling/telemetry_sampler.h"
#include "probes/storage/storage.h"
#include "probes/take_inventory.h"
#include "profiles/demand/stream_url.h"
#include "report/assess/assess.h"
#include "report/headroom/fair_test.h"

namespace cli {
namespace {

/// After the cameras' end, in a run that is bounded: what is still queued is late by far.
constexpr double kMostEmptyingSeconds = 12;
constexpr double kNoBoundSeconds = 1e7;
/// Encoders overshoot the bit rate that they are asked for.
constexpr double kBitRateSwing = 1.25;
constexpr double kExpectedInventorySeconds = 5;

base::Error AsInvalid(const base::Error& error) {
  return {base::ErrorKind::kInvalid, error.where, error.detail};
}

base::Error RefusedFolder(base::Error error) {
  if (error.kind != base::ErrorKind::kIo) {  // else it says how much room is needed
    error.detail += "; allowed: a folder that is there and can be written";
  }
  return AsInvalid(error);
}

/// Rate at which the profile fills each of its recording folders.
std::map<std::filesystem::path, double> BytesPerSecondByFolder(
    const ChosenProfile& chosen, const profiles::Demand& demand,
    const std::filesystem::path& record_to) {
  std::map<std::filesystem::path, double> rates;
  for (std::size_t i = 0; i < chosen.profile.outputs.size(); ++i) {
    profiles::Profile alone = chosen.profile;
    alone.outputs = {chosen.profile.outputs[i]};
    for (const auto& folder : bench::RecordingFolders(alone, record_to, chosen.folder)) {
      rates[folder] += demand.outputs[i].disk_bytes_per_second;
    }
  }
  return rates;
}

std::int64_t LastLevelCacheBytes(const probes::CpuInventory& cpu, std::int64_t fallback) {
  int level = 0;
  std::int64_t bytes = fallback;
  for (const probes::CpuCache& cache : cpu.caches) {
    if (cache.level > level && cache.size_bytes) {
      level = cache.level;
      bytes = *cache.size_bytes * cache.count;
    }
  }
  return bytes;
}

std::vector<bench::WorkingEncoder> WorkingHardware(const probes::CodecInventory& codecs) {
  std::vector<bench::WorkingEncoder> working;
  for (const probes::CodecTrial& trial : codecs.trials) {
    if (trial.encoder && trial.hardware && trial.works) {
      working.push_back({trial.name, trial.codec});
    }
  }
  return working;
}

std::vector<bench::WorkingDecoder> WorkingDecoders(const probes::CodecInventory& codecs) {
  std::vector<bench::WorkingDecoder> working;
  for (const probes::CodecTrial& trial : codecs.trials) {
    if (!trial.encoder && trial.hardware && trial.works) {
      working.push_back({trial.name, trial.codec});
    }
  }
  return working;
}

}  // namespace

Measuring::Measuring(const Options& options, ChosenProfile chosen, std::filesystem::path record_to,
                     Durations durations, report::Evidence evidence)
    : options_(options),
      chosen_(std::move(chosen)),
      record_to_(std::move(record_to)),
      durations_(durations),
      evidence_(std::move(evidence)),
      progress_(StyleForStandardError(options.quiet, options.progress_json)),
      left_(clock_, durations_.whole_s) {}

std::vector<std::filesystem::path> Measuring::Folders() const {
  return bench::RecordingFolders(chosen_.profile, record_to_, chosen_.folder);
}

void Measuring::Begin(const std::string& phase, double expected_s) {
  progress_.Begin(phase, expected_s);
}

/// Long runs are sampled less often: their record is kept whole.
probes::TelemetryRequest Measuring::Telemetry(double seconds) const {
  constexpr double kLongRunSeconds = 1800;
  const auto folders = Folders();
  return {seconds > kLongRunSeconds ? 2.0 : 4.0, folders.empty() ? "" : folders.front(),
          std::string(bench::kWriteThread) + ":"};
}

base::Status Measuring::CheckFolders() const {
  const double longest_s =
      std::max(durations_.rehearsal_s, durations_.flat_out_s * kFlatOutSpeedLimit);
  const auto rates = BytesPerSecondByFolder(chosen_, evidence_.demand, record_to_);
  // Folders on one filesystem share its room.
  std::map<std::filesystem::path, std::string> filesystem_of;
  std::map<std::string, double> rate_of_filesystem;
  for (const auto& [folder, rate] : rates) {
    // By itself where the system tells no filesystem; a missing folder is told of below.
    const auto id = probes::ReadStorage(root_, folder).filesystem_id.value_or(folder.string());
    filesystem_of[folder] = id;
    rate_of_filesystem[id] += rate;
  }
  for (const auto& [folder, filesystem] : filesystem_of) {
    const double filling = rate_of_filesystem[filesystem];
    auto room =
        bench::CheckRoom(folder, static_cast<std::int64_t>(filling * longest_s * kBitRateSwing));
    if (!room) {
      return RefusedFolder(room.error());
    }
  }
  return base::Done{};
}

base::Status Measuring::CheckInputs() const {
  auto plan = Plan();
  // Without the inventory an encoder may seem to lack; that is found out when it is opened.
  return plan ? bench::CheckBeforeLoad(*plan, interrupt_.Token()) : base::Done{};
}

/// Hosts of the user's own URLs; none where nothing may be sent to them.
std::vector<std::string> Measuring::HostsToAsk() const {
  std::set<std::string> hosts;
  if (options_.send_streams) {
    for (const profiles::Output& output : chosen_.profile.outputs) {
      std::string host = profiles::HostOf(output.url);
      if (!host.empty() && !base::ParseIpAddress(host)) {
        hosts.insert(std::move(host));
      }
    }
  }
  return {hosts.begin(), hosts.end()};
}

std::string Measuring::TimeText() const {
  return ExpectedText(chosen_.profile, durations_,
                      static_cast<int>(std::thread::hardware_concurrency()));
}

void Measuring::TakeInventory() {
  left_ = TimeLeft(clock_, durations_.whole_s);
  Begin("inventory", kExpectedInventorySeconds);
  evidence_.inventory = probes::TakeInventory(
      root_, {Folders(), probes::TryCodecs, interrupt_.Token(), HostsToAsk()});
}

void Measuring::MeasureCosts() {
  if (Interrupted()) {
    return;
  }
  Begin("cost of each stage", durations_.costs_at_most_s);
  evidence_.results.costs =
      bench::RunCostsProgram(CostsProgram(), chosen_.name, durations_.cost_s, interrupt_.Token(),
                             static_cast<int>(durations_.costs_at_most_s));
}

void Measuring::MeasureDisks() {
  const auto folders = Folders();
  for (const auto& folder : folders) {
    if (Interrupted()) {
      return;
    }
    bench::DiskRunOptions options;
    options.folder = folder;
    options.seconds = left_.bounded() ? durations_.disk_s / static_cast<double>(folders.size())
                                      : durations_.disk_s;
    Begin("disk", options.seconds);
    evidence_.results.disks.push_back(bench::MeasureDisk(options, interrupt_.Token()));
  }
}

bench::PlanOptions Measuring::PlanChoices() const {
  bench::PlanOptions options;
  const probes::CpuInventory& cpu = evidence_.inventory.cpu;
  options.hardware_encoders = WorkingHardware(evidence_.inventory.codecs);
  options.hardware_decoders = WorkingDecoders(evidence_.inventory.codecs);
  options.usable_cpus = cpu.usable_cpus.value_or(cpu.threads.value_or(1));
  options.cache_bytes = LastLevelCacheBytes(cpu, options.cache_bytes);
  options.record_to = record_to_;
  options.profile_folder = chosen_.folder;
  options.keep_recordings = options_.keep_recordings;
  options.use_own_urls = options_.send_streams;
  return options;
}

base::Result<bench::RehearsalPlan> Measuring::Plan() const {
  return bench::MakePlan(chosen_.profile, PlanChoices());
}

base::Status Measuring::Rehearse() {
  if (Interrupted()) {
    return base::Done{};
  }
  auto plan = Plan();
  if (!plan) {
    return plan.error();
  }
  Begin("preparing test pictures", 0);
  const int cpus = static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
  auto feeds =
      bench::PrepareFeeds(*plan, interrupt_.Token(),
                          left_.bounded() ? MostPictures(chosen_.profile, durations_, cpus) : 0);
  if (Interrupted()) {
    return base::Done{};
  }
  if (!feeds) {
    return AsInvalid(feeds.error());
  }
  const bench::Progress note = [this](double /*fraction*/, std::int64_t dropped) {
    progress_.Note(fmt::format("{} dropped", dropped));
  };
  Begin("rehearsal", durations_.rehearsal_s);
  probes::TelemetrySampler sampler(root_, Telemetry(durations_.rehearsal_s), clock_);
  const StopAfter stop(
      durations_.rehearsal_s + (left_.bounded() ? kMostEmptyingSeconds : kNoBoundSeconds),
      interrupt_.Token());
  auto rehearsal =
      bench::RunRehearsal(*plan, **feeds, durations_.rehearsal_s, clock_, stop.Token(), note);
  auto telemetry = sampler.Stop();
  if (rehearsal && !rehearsal->complete && stop.TimeIsUp() && !Interrupted()) {
    rehearsal->stopped_because = "its queues were not empty in time: this PC is far behind";
  }
  if (!rehearsal) {
    return rehearsal.error();
  }
  probes::CountFrom(telemetry, rehearsal->zero_ns);
  evidence_.telemetry = std::move(telemetry);
  evidence_.results.rehearsal = *std::move(rehearsal);
  TryBallast(*plan, **feeds);
  if (!Interrupted()) {
    RunFlatOut(*plan, **feeds, note);
    RunGrownFlatOut(**feeds, note);
  }
  return base::Done{};
}

void Measuring::NoteNotRehearsed(const base::Error& why) {
  bench::Rehearsal rehearsal;
  rehearsal.stopped_because = ErrorLine(why);
  evidence_.results.rehearsal = std::move(rehearsal);
}

report::Document Measuring::Finish() {
  progress_.End();
  report::Document document = report::Assess(std::move(evidence_));
  document.complete = document.complete && !Interrupted();
  return document;
}

// What other programs take before the load, and whoever sits at the terminal asked about it.

namespace {

/// Other programs are watched so long before the load.
constexpr double kQuietSeconds = 2;
/// Time to stop the run where nobody can be asked.
constexpr double kMomentSeconds = 3;

/// Shorter when a stop is requested.
void Wait(base::Clock& clock, double seconds, const std::stop_token& stop) {
  constexpr std::int64_t kLookNs = 50'000'000;
  const std::int64_t end_ns = clock.NowNs() + static_cast<std::int64_t>(seconds * 1e9);
  for (std::int64_t now = clock.NowNs(); now < end_ns && !stop.stop_requested();
       now = clock.NowNs()) {
    clock.SleepUntilNs(std::min(end_ns, now + kLookNs));
  }
}

}  // namespace

base::Status Measuring::LookForOthers() {
  if (Interrupted()) {
    return base::Done{};
  }
  Begin("looking for other programs", kQuietSeconds);
  probes::TelemetrySampler sampler(root_, Telemetry(kQuietSeconds), clock_);
  Wait(clock_, kQuietSeconds, interrupt_.Token());
  evidence_.before = sampler.Stop();
  progress_.End();
  const report::Disturbance others = report::DisturbanceBefore(evidence_);
  for (const std::string& line : others.not_read) {
    Tell(options_, line);
  }
  if (others.taken.empty()) {
    return base::Done{};
  }
  for (const std::string& line : others.taken) {
    Tell(options_, "this is no fair test: " + line);
  }
  if (CanAsk() && !options_.quiet && !options_.json && !options_.progress_json) {
    const std::int64_t asked_ns = clock_.NowNs();
    const bool go_on =
        AskYesOrNo("rigproof: better close them first. Go on all the same?", interrupt_.Token());
    left_.Extend(static_cast<double>(clock_.NowNs() - asked_ns) / 1e9);
    return go_on || Interrupted()
               ? base::Status(base::Done{})
               : base::Error{base::ErrorKind::kIo, "", "nothing was run: other programs were busy"};
  }
  if (!options_.quiet) {
    Tell(options_, fmt::format("it goes on in {:g} s all the same", kMomentSeconds));
    Wait(clock_, kMomentSeconds, interrupt_.Token());
  }
  return base::Done{};
}

}  // namespace cli
