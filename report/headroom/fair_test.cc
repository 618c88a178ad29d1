// SPDX-License-Identifier: Apache-2.0
//
// The arithmetic of what other programs left.

#include "report/headroom/fair_test.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <utility>

#include <fmt/format.h>

#include "report/cpu/size_cpu.h"
#include "report/headroom/headroom.h"
#include "report/loads/others_use.h"
#include "report/words/quantities.h"

namespace report {
namespace {

/// Sums of decimals are off by less.
constexpr double kRounding = 1e-6;
/// Of the time that the disk was busy: where its rate was not measured.
constexpr double kFairDiskPercent = 10;
/// Samples so far from a drop are looked at: a drop shows after its queue filled.
constexpr double kAroundDropSeconds = 1.5;

double MachineCpus(const probes::CpuInventory& cpu) {
  return std::max<double>(cpu.threads.value_or(0), cpu.usable_cpus.value_or(0));
}

/// What a load may take where a margin is kept.
double WithMargin(double load, double margin_percent) {
  return margin_percent < 100 ? load / (1 - margin_percent / 100)
                              : std::numeric_limits<double>::infinity();
}

/// Rate at which outputs sent to real addresses; sinks of our own count what they get.
double SentBytesPerSecond(const bench::Rehearsal& rehearsal) {
  double bytes = 0;
  for (const bench::OutputLedger& output : rehearsal.outputs) {
    if (output.kind == profiles::OutputKind::kStream && output.received < 0) {
      bytes += static_cast<double>(output.bytes);
    }
  }
  return rehearsal.seconds > 0 ? bytes / rehearsal.seconds : 0;
}

class Judging {
 public:
  Judging(const Facts& facts, const std::vector<Headroom>& headroom)
      : facts_(facts), headroom_(headroom) {}

  FairTest Judge() {
    const Evidence& evidence = facts_.evidence;
    fair_.command = evidence.command.value_or("");
    if (evidence.before && !evidence.before->samples.empty()) {
      fair_.before = UseOfOthers(*evidence.before, 0, evidence.before->samples.back().at_s, 0);
    }
    const auto& rehearsal = evidence.results.rehearsal;
    if (!rehearsal || rehearsal->seconds <= 0) {
      fair_.not_known = "nothing was rehearsed";
      return fair_;
    }
    if (!evidence.telemetry) {
      fair_.not_known = "what other programs took was not sampled";
      return fair_;
    }
    fair_.during = UseOfOthers(*evidence.telemetry, rehearsal->warm_up_seconds,
                               rehearsal->seconds + 1, SentBytesPerSecond(*rehearsal));
    if (!fair_.during->cpus) {
      fair_.not_known = "what other programs took: " + fair_.during->cpus.why_unknown();
      return fair_;
    }
    TellWhatTheyTook();
    fair_.fair = fair_.took.empty();
    if (!fair_.took.empty()) {
      CountDrops();
      Reckon();
    }
    return fair_;
  }

 private:
  const bench::Rehearsal& rehearsal() const { return *facts_.results().rehearsal; }

  void TellWhatTheyTook() {
    const OthersUse& use = *fair_.during;
    if (*use.cpus > kFairCpus + kRounding) {
      fair_.took.push_back({Resource::kCpu, CpuTakenText(use, MachineCpus(facts_.machine().cpu))});
    }
    if (TooMuchOfDisk(use)) {
      disk_taken_ = true;
      fair_.took.push_back({Resource::kDisk, DiskTakenText(use)});
    }
    if (TooMuchOfLink(use)) {
      link_taken_ = true;
      fair_.took.push_back({Resource::kNetwork, NetworkTakenText(use)});
    }
  }

  /// The disk that telemetry watches is that of the first folder.
  bool TooMuchOfDisk(const OthersUse& use) const {
    if (!use.disk_bytes_per_second || facts_.places.empty()) {
      return false;
    }
    const RecordingPlace& place = facts_.places.front();
    if (place.disk != nullptr && place.disk->sustained_bytes_per_second > 0) {
      return *use.disk_bytes_per_second +
                     WithMargin(place.bytes_per_second, facts_.profile().margins.disk_percent) >
                 place.disk->sustained_bytes_per_second &&
             *use.disk_bytes_per_second > 0;
    }
    return use.disk_busy_percent && *use.disk_busy_percent > kFairDiskPercent;
  }

  bool TooMuchOfLink(const OthersUse& use) const {
    const double sent = SentBytesPerSecond(rehearsal()) * 8;
    const probes::NetworkLink* link = DefaultLink(facts_.machine().network);
    if (sent <= 0 || link == nullptr || !link->speed_mbps || !use.network_bytes_per_second) {
      return false;
    }
    return *use.network_bytes_per_second * 8 +
               WithMargin(sent, facts_.profile().margins.network_percent) >
           *link->speed_mbps * 1e6;
  }

  /// CPUs that the rehearsal needs to keep up, what simulates its cameras included.
  std::optional<double> NeededCpus() const {
    std::optional<double> needed;
    if (facts_.cpu) {
      needed = facts_.cpu->own + facts_.cpu->simulation;
    }
    const ScaledCpu reckoned = ScaleCpu(facts_.evidence, facts_.profile());
    if (!reckoned.parts.empty()) {
      needed = std::max(needed.value_or(0), reckoned.Total());
    }
    return needed;
  }

  /// The least that was left around this moment; nothing: not known.
  std::optional<double> CpusLeft(double from_s, double to_s) const {
    const probes::CpuInventory& cpu = facts_.machine().cpu;
    if (!cpu.usable_cpus) {
      return std::nullopt;
    }
    const probes::TelemetryRecord& record = *facts_.evidence.telemetry;
    const double kernel_cpus = KernelCpus(record);
    std::optional<double> least;
    for (const probes::TelemetrySample& sample : record.samples) {
      const auto others = OtherProgramsCpus(sample, kernel_cpus);
      const std::optional<double> steal = sample.steal_cpus;
      if (others && sample.at_s >= from_s - kAroundDropSeconds &&
          sample.at_s <= to_s + kAroundDropSeconds) {
        const double left =
            std::min(*cpu.usable_cpus, MachineCpus(cpu) - *others - steal.value_or(0));
        least = std::min(left, least.value_or(left));
      }
    }
    return least;
  }

  /// Whether others left too little for what was lost here.
  bool ForLack(const bench::DropRun& drop) const {
    if ((disk_taken_ && drop.stage == bench::Stage::kWrite) ||
        (link_taken_ &&
         (drop.stage == bench::Stage::kSend || drop.stage == bench::Stage::kReceive))) {
      return true;
    }
    const auto needed = NeededCpus();
    const auto left = CpusLeft(drop.at_s, drop.at_s);
    return !needed || !left || WithMargin(*needed, facts_.profile().margins.cpu_percent) > *left;
  }

  void CountDrops() {
    std::int64_t lacking = 0;
    std::int64_t all = 0;
    for (const bench::DropRun& drop : rehearsal().drops) {
      if (drop.at_s >= rehearsal().warm_up_seconds) {
        all += drop.frames;
        lacking += ForLack(drop) ? drop.frames : 0;
      }
    }
    // Camera frames that no output tells of are among the runs of drops and not among the judged.
    const std::int64_t judged = facts_.run ? facts_.run->Dropped() : 0;
    const double share = all > 0 ? static_cast<double>(lacking) / static_cast<double>(all) : 1.0;
    fair_.dropped_for_lack = std::llround(share * static_cast<double>(judged));
    fair_.dropped_anyway = judged - fair_.dropped_for_lack;
  }

  void Reckon() {
    const auto needed = NeededCpus();
    const base::Reading<double>& usable = facts_.machine().cpu.usable_cpus;
    const bool dropped = facts_.run && facts_.run->Dropped() > 0;
    if (dropped && !facts_.run->Permitted() && needed && usable && *needed > *usable) {
      // What was lost is lost to the lack that they only add to.
      fair_.dropped_anyway += std::exchange(fair_.dropped_for_lack, 0);
      ShortBecause(fmt::format("without them too: {} CPUs are needed and this PC has {:g} to use",
                               FormatNumber(*needed), *usable));
    } else if (static_cast<double>(fair_.dropped_anyway) > facts_.run->allowed) {
      ShortBecause(fmt::format(
          "without them too: {} of {} dropped frames were dropped while what they left was enough "
          "({} CPUs are needed)",
          fair_.dropped_anyway, facts_.run->Dropped(), FormatNumber(needed.value_or(0))));
    } else if (const Headroom* row = OverWithoutThem()) {
      ShortBecause("without them too: overloaded: " + std::string(base::WordOf(row->resource)));
    }
  }

  void ShortBecause(std::string arithmetic) {
    fair_.short_anyway = true;
    fair_.arithmetic = std::move(arithmetic);
  }

  /// A row that is over its capacity also when what they took is given back.
  const Headroom* OverWithoutThem() const {
    const auto found =
        std::find_if(headroom_.begin(), headroom_.end(), [this](const Headroom& row) {
          return row.capacity && row.demand > *row.capacity + GivenBack(row);
        });
    return found == headroom_.end() ? nullptr : &*found;
  }

  /// How much more of it there is without them.
  double GivenBack(const Headroom& row) const {
    const double cpus = *fair_.during->cpus;
    const double usable = facts_.machine().cpu.usable_cpus.value_or(0);
    if (row.resource == Resource::kCpu) {
      return std::max(0.0, usable - *row.capacity);
    }
    if (row.resource == Resource::kEncoder && row.unit == "x real time") {
      // A pipeline gets at most as much faster as it gets more of the CPUs.
      return usable > cpus ? *row.capacity * cpus / (usable - cpus)
                           : std::numeric_limits<double>::infinity();
    }
    if (row.resource == Resource::kDisk) {
      return fair_.during->disk_bytes_per_second.value_or(0);
    }
    return 0;
  }

  const Facts& facts_;
  const std::vector<Headroom>& headroom_;
  FairTest fair_;
  bool disk_taken_ = false;
  bool link_taken_ = false;
};

}  // namespace

FairTest JudgeFairness(const Facts& facts, const std::vector<Headroom>& headroom) {
  return Judging(facts, headroom).Judge();
}

Disturbance DisturbanceBefore(const Evidence& evidence) {
  Disturbance disturbance;
  if (!evidence.before || evidence.before->samples.empty()) {
    disturbance.not_read.emplace_back("what other programs take could not be sampled");
    return disturbance;
  }
  const OthersUse use = UseOfOthers(*evidence.before, 0, evidence.before->samples.back().at_s, 0);
  if (!use.cpus) {
    disturbance.not_read.push_back("what other programs take of the CPU: " +
                                   use.cpus.why_unknown());
  } else if (*use.cpus > kFairCpus + kRounding) {
    disturbance.taken.push_back(CpuTakenText(use, MachineCpus(evidence.inventory.cpu)));
  }
  if (!use.disk_busy_percent) {
    disturbance.not_read.push_back("what other programs take of the disk: " +
                                   use.disk_busy_percent.why_unknown());
  } else if (*use.disk_busy_percent > kFairDiskPercent) {
    disturbance.taken.push_back(DiskTakenText(use));
  }
  const StreamDemand streams = SumStreams(evidence);
  const probes::NetworkLink* link = DefaultLink(evidence.inventory.network);
  if (streams.abroad > 0 && link != nullptr && link->speed_mbps && use.network_bytes_per_second &&
      *use.network_bytes_per_second * 8 +
              WithMargin(streams.abroad, evidence.profile.margins.network_percent) >
          *link->speed_mbps * 1e6) {
    disturbance.taken.push_back(NetworkTakenText(use));
  }
  return disturbance;
}

}  // namespace report
