// SPDX-License-Identifier: Apache-2.0
//
// The CPU of a changed production: parts from the rehearsal, law and speed as for more sources.

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "base/text.h"
#include "report/cpu/size_cpu.h"
#include "report/headroom/cpu_room.h"
#include "report/headroom/fair_test.h"
#include "report/headroom/headroom.h"
#include "report/loads/facts.h"
#include "report/loads/others_use.h"
#include "report/predict/size_resources.h"
#include "report/words/quantities.h"

namespace report {
namespace {

constexpr const char* kProve = "rehearse that production on that PC: `rigproof rehearse PROFILE`";

/// CPUs and work of the production as it is to be, with both ends.
struct Asked {
  double cpus = 0;
  double cpus_low = 0;
  double cpus_high = 0;
  double work = 0;
  double work_low = 0;
  double work_high = 0;
};

Asked AskedOf(const CpuRoom& room, const ScaledCpu& now, const ScaledCpu& scaled) {
  Asked asked;
  asked.cpus = std::max(0.0, room.used + (scaled.Total() - now.Total()));
  asked.cpus_low = std::max(0.0, asked.cpus - scaled.Spread());
  asked.cpus_high = asked.cpus + scaled.Spread();
  // Measured at the production's own load, so with the waiting that it has.
  const double each = room.used > 0 ? room.done / room.used : 1;
  asked.work = asked.cpus * each;
  asked.work_low = asked.cpus_low * each;
  asked.work_high = asked.cpus_high * each;
  return asked;
}

/// CPUs in percent left free; below 0 by how much more is asked than there is.
double LeftOf(const CpuRoom& room, double work) {
  const double cpus = CpusFor(room, work);
  if (std::isfinite(cpus)) {
    return HeadroomPercent(cpus, room.available);
  }
  return HeadroomPercent(work, ScaledBy(room.law, room.available));
}

void AddCpuRow(const CpuRoom& room, const Asked& asked, const profiles::Margins& margins,
               SizedProduction& sized) {
  SizedResource row;
  row.resource = Resource::kCpu;
  row.unit = "CPUs";
  row.now = room.used;
  row.asked = sized.cpus;
  row.capacity = room.available;
  row.headroom_percent = LeftOf(room, asked.work);
  row.lowest_percent = LeftOf(room, asked.work_high);
  row.highest_percent = LeftOf(room, asked.work_low);
  row.margin_percent = margins.cpu_percent;
  row.basis = Basis::kMeasured;
  row.source = fmt::format(
      "needed: {:.2f} CPUs for all that was due in the rehearsal, each part that is added or "
      "changed reckoned from the CPU time of a frame of one like it{}; available: CPUs that others "
      "leave{}",
      room.used, room.grown > 0 ? ", as the full-speed runs with cameras added had it" : "",
      !room.cpus_by_pieces && room.law_measured ? ", by the measured law of contention" : "");
  row.sureness = SurenessOf(row);
  sized.resources.push_back(std::move(row));
}

void AddSpeedRow(const CpuRoom& room, const Asked& asked, const profiles::Margins& margins,
                 SizedProduction& sized) {
  if (!(asked.work > 0)) {
    return;
  }
  sized.speed = SpeedFor(room, asked.work);
  sized.speed_lowest = SpeedFor(room, asked.work_high) * ShareOfMost(room, room.lowest);
  sized.speed_highest = asked.work_low > 0
                            ? SpeedFor(room, asked.work_low) * ShareOfMost(room, room.highest)
                            : sized.speed;
  SizedResource row;
  row.resource = Resource::kEncoder;
  row.item = kWholePipeline;
  row.unit = "x real time";
  row.now = row.asked = 1;
  row.capacity = sized.speed;
  row.headroom_percent = HeadroomPercent(1, sized.speed);
  row.lowest_percent = HeadroomPercent(1, sized.speed_lowest);
  row.highest_percent = HeadroomPercent(1, sized.speed_highest);
  row.margin_percent = margins.encoder_percent;
  row.basis = room.speed_basis;
  row.source =
      room.grown > 0 ? "the speed of the full-speed runs, with and without cameras added, for the "
                       "work that is needed then"
      : room.speed_basis == Basis::kMeasured
          ? "the speed of the full-speed run, a low percentile of its windows, for the work that "
            "is "
            "needed then"
          : "95 % of the CPUs (assumed: no full-speed run used them up), for the work that is "
            "needed then";
  row.sureness = SurenessOf(row);
  sized.resources.push_back(std::move(row));
}

/// Stages that one thread does, however many CPUs there are.
void AddThreads(const ScaledCpu& now, const ScaledCpu& scaled, SizedProduction& sized) {
  for (const ScaledPart& part : scaled.parts) {
    if (!OneThread(part.stage) || part.cpus < kThreadWorthSaying) {
      continue;
    }
    SizedResource row;
    row.resource = Resource::kOneThread;
    row.item = UntoldPart{part.stage, part.item}.Text();
    row.unit = "CPUs";
    row.asked = part.cpus;
    for (const ScaledPart& old : now.parts) {
      row.now += old.stage == part.stage && old.item == part.item ? old.cpus : 0;
    }
    row.capacity = 1;
    row.headroom_percent = HeadroomPercent(part.cpus, 1);
    row.lowest_percent = HeadroomPercent(part.cpus * (1 + part.spread), 1);
    row.highest_percent = HeadroomPercent(part.cpus * (1 - part.spread), 1);
    row.basis = part.basis;
    row.source = part.from + "; " + kByOneThread;
    row.sureness = SurenessOf(row);
    sized.resources.push_back(std::move(row));
  }
}

/// Why nothing can be said of the CPU; empty where something can.
std::string Lacking(const Evidence& evidence, const Facts& facts) {
  const auto& rehearsal = evidence.results.rehearsal;
  if (!rehearsal) {
    return evidence.length == kSurvey ? "the result is a survey: nothing was run"
                                      : "the production was not rehearsed";
  }
  if (!rehearsal->complete) {
    return "its rehearsal did not run to its end";
  }
  if (!facts.run || facts.run->due <= 0) {
    return "its rehearsal is too short to judge";
  }
  return "";
}

/// Why the run is no fair test; empty where it is one, or where nothing was run.
std::string Unfair(const Facts& facts) {
  if (!facts.run || facts.run->due <= 0) {
    return "";
  }
  if (facts.run->Dropped() > 0) {
    return "The production dropped frames in that run as it is";
  }
  const auto& telemetry = facts.evidence.telemetry;
  const bench::Rehearsal& rehearsal = *facts.results().rehearsal;
  const base::Reading<double> programs =
      telemetry ? UseOfOthers(*telemetry, rehearsal.warm_up_seconds, rehearsal.seconds + 1, 0).cpus
                : base::Reading<double>();
  if (!programs || !facts.cpu || !facts.cpu->steal_mean) {
    return "What other programs and the host took in that run is not known";
  }
  constexpr double kRounding = 1e-9;
  const double taken = *programs + *facts.cpu->steal_mean;
  return taken <= kFairCpus + kRounding
             ? ""
             : fmt::format("Other programs and the host took {:.2f} CPUs in that run", taken);
}

}  // namespace

std::string NotToldText(const std::string& part) {
  return fmt::format("cpu: nothing measured tells what {} takes; rehearse a production that has it",
                     base::Printable(part));
}

bool OneThread(bench::Stage stage) {
  constexpr std::array kOneThread{bench::Stage::kCompose, bench::Stage::kConvert,
                                  bench::Stage::kMultiview};
  return std::find(kOneThread.begin(), kOneThread.end(), stage) != kOneThread.end();
}

CpuBasis CpuBasisOf(const Evidence& evidence) {
  const Facts facts = GatherFacts(evidence);
  CpuBasis basis;
  basis.lacking = Lacking(evidence, facts);
  basis.unfair = Unfair(facts);
  basis.dropped = facts.run && facts.run->Dropped() > 0;
  if (!basis.lacking.empty()) {
    return basis;
  }
  basis.now = ScaleCpu(evidence, evidence.profile);
  basis.room = FindCpuRoom(facts);
  basis.permitted = facts.run->Permitted();
  if (!basis.room) {
    std::vector<Headroom> rows;
    CpuHeadroom(facts, rows);
    basis.lacking = rows.front().capacity ? "the rehearsal used no CPU time" : rows.front().source;
  } else if (basis.now->parts.empty() || !std::isfinite(basis.now->Total())) {
    basis.lacking = "the result holds no cost of any stage";
  }
  return basis;
}

void SizeCpu(const Evidence& evidence, const CpuBasis& basis, const profiles::Profile& changed,
             SizedProduction& sized) {
  if (!basis.lacking.empty()) {
    sized.unproven.push_back({Resource::kCpu, "", "cpu: " + basis.lacking + "; " + kProve});
    return;
  }
  const ScaledCpu scaled = ScaleCpu(evidence, changed);
  for (const UntoldPart& part : scaled.not_told) {
    sized.unproven.push_back({Resource::kCpu, "", NotToldText(part.Text())});
  }
  const CpuRoom& room = *basis.room;
  const Asked asked = AskedOf(room, *basis.now, scaled);
  // By the law what waits for others counts in what is left, not in what is needed.
  sized.cpus = room.cpus_by_pieces ? CpusFor(room, asked.work) : asked.cpus;
  sized.assumed = std::any_of(scaled.parts.begin(), scaled.parts.end(),
                              [](const auto& part) { return part.assumed; });
  AddCpuRow(room, asked, changed.margins, sized);
  AddSpeedRow(room, asked, changed.margins, sized);
  AddThreads(*basis.now, scaled, sized);
  constexpr double kRounding = 1e-6;
  if (!basis.permitted && asked.work > room.done * (1 - kRounding)) {
    sized.unproven.push_back({Resource::kCpu, "", kDropsAsItIs});
  }
}

Sureness SurenessOf(const SizedResource& row) {
  if (!row.headroom_percent) {
    return Sureness::kOpen;
  }
  const double low = row.lowest_percent.value_or(*row.headroom_percent);
  const double high = row.highest_percent.value_or(*row.headroom_percent);
  const bool fits = *row.headroom_percent >= 0;
  return (fits ? low >= 0 : high < 0) ? Sureness::kSure : Sureness::kLikely;
}

}  // namespace report
