// SPDX-License-Identifier: Apache-2.0

#include "report/predict/size.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "report/compare/compare.h"
#include "report/compare/machines.h"
#include "report/fields/words.h"
#include "report/headroom/resource_room.h"
#include "report/loads/judged_run.h"
#include "report/predict/size_purchases.h"
#include "report/predict/size_remedies.h"
#include "report/predict/size_resources.h"
#include "report/words/cautions.h"
#include "report/words/quantities.h"

namespace report {
namespace {

double AboveMargin(const SizedResource& row) {
  constexpr double kNotTold = 1e9;
  return row.headroom_percent ? *row.headroom_percent - row.margin_percent : kNotTold;
}

/// "12 % headroom (4 % to 20 %)"; "none available".
std::string HeadroomText(const SizedResource& row) {
  const auto percent = [&row](double value) {
    return FormatHeadroomPercent(value, row.margin_percent);
  };
  const std::string text = percent(*row.headroom_percent);
  if (text == "none") {
    return "none available";
  }
  if (!row.lowest_percent || !row.highest_percent || *row.lowest_percent == *row.highest_percent) {
    return text + " headroom";
  }
  return fmt::format("{} headroom ({} to {})", text, percent(*row.lowest_percent),
                     percent(*row.highest_percent));
}

std::string RunsOutFirst(const std::vector<SizedResource>& rows) {
  const SizedResource* first = nullptr;
  for (const SizedResource& row : rows) {
    if (row.headroom_percent &&
        (first == nullptr || *row.headroom_percent < *first->headroom_percent)) {
      first = &row;
    }
  }
  return first == nullptr ? ""
                          : RowName(first->resource, first->item) + ", " + HeadroomText(*first);
}

std::string HeadlineOf(const Sizing& sizing) {
  const std::string runs_out =
      sizing.runs_out_first.empty() ? "" : "; runs out first: " + sizing.runs_out_first;
  const std::string sure = sizing.sureness == Sureness::kSure ? "" : " (likely, not sure)";
  switch (sizing.verdict) {
    case Verdict::kReady:
      return "It fits, and every margin stays free" + sure + runs_out;
    case Verdict::kTight:
      return "It fits, but a resource is below its margin" + sure + runs_out;
    case Verdict::kShort:
      return "It does not fit" + sure + runs_out;
    case Verdict::kUnproven:
      break;
  }
  return "This result cannot tell whether it fits: " + (sizing.unproven.empty()
                                                            ? std::string("a resource is not known")
                                                            : sizing.unproven.front());
}

}  // namespace

namespace {

std::string LawLine(const CpuRoom& cpu, const std::optional<bench::Contention>& contention) {
  if (cpu.law_measured) {
    return "Contention by Gunther's Universal Scalability Law, C(N) = N / (1 + alpha (N - 1) + "
           "beta N (N - 1)): " +
           ToText(cpu.law) + " (" + base::Printable(contention->work, 200) + ")";
  }
  return "Contention was not measured" +
         (contention && !contention->failure.empty()
              ? ": " + base::Printable(contention->failure, 200)
              : std::string(": CPUs are taken as not getting in each other's way"));
}

std::string MostWorkLine(const CpuRoom& cpu) {
  if (cpu.grown > 0) {
    return fmt::format(
        "Most work without drops: where the speed of {} with sources added comes to real time",
        Plural(cpu.grown, "full-speed run"));
  }
  return cpu.by_speed ? "Most work without drops: the usual speed of the full-speed run, which "
                        "used the CPUs up; where its CPU time in real time allows less (a light "
                        "production wakes for every frame), the geometric mean of both"
                      : "Most work without drops: 95 % of the CPUs (assumed)";
}

}  // namespace

std::vector<std::string> SizingBasis(const Sizer& sizer) {
  std::vector<std::string> lines;
  const CpuBasis& cpu = sizer.cpu();
  if (cpu.lacking.empty()) {
    lines.push_back(fmt::format(
        "CPU: {:.2f} of {:.2f} CPUs for all that was due in the rehearsal, of which {:.2f} are "
        "accounted to stages; what is added costs what a frame of one like it cost there, scaled "
        "by pixels, rate and bits",
        cpu.room->used, cpu.room->available, cpu.now->Total()));
    lines.push_back(LawLine(*cpu.room, sizer.evidence().results.contention));
    lines.push_back(MostWorkLine(*cpu.room));
    lines.emplace_back(
        "Interval: 10 % either way, slow windows of the full-speed run or, without one, the ends "
        "of the law of contention; and what is added or changed 10 % (as what ran at full speed "
        "with others), 20 % (as another of its kind), 30 % (scaled by pixels) or 50 % off (format, "
        "effort, hardware); these shares are assumed");
  }
  lines.emplace_back(
      "Memory, disks, space, encoders, links: sums of the changed profile against what the result "
      "measured or read; sure unless marked otherwise; a disk's rate 10 % either way (assumed)");
  return lines;
}

namespace {

void AddCautions(const Document& document, const Sizer& sizer, Sizing& sizing) {
  if (document.evidence.length == kRehearsalOnly) {
    sizing.cautions.emplace_back(
        "The result is of a rehearsal alone: links of cameras, displays and a disk's sustained "
        "rate "
        "are not judged; `rigproof qualify PROFILE` measures them");
  }
  if (!sizer.cpu().unfair.empty()) {
    sizing.cautions.push_back(sizer.cpu().unfair + ": nothing that follows from it is sure");
  }
  sizing.cautions.emplace_back(
      "A prediction: rehearse before you rely on it (--confirm, on that PC)");
  const auto asks_for = [&](RemedyCost cost) {
    return std::any_of(sizing.remedies.begin(), sizing.remedies.end(),
                       [&](const Remedy& remedy) { return remedy.cost == cost; });
  };
  if (asks_for(RemedyCost::kPlug)) {
    sizing.cautions.emplace_back(kCautionMoves);
  }
  if (asks_for(RemedyCost::kPart) || !sizing.purchases.empty()) {
    sizing.cautions.emplace_back(kCautionInside);
  }
}

/// As SetCapacity() does: what is assumed shows that something fits, or leaves it open.
void LeaveOpenWhatIsAssumed(SizedProduction& sized) {
  for (SizedResource& row : sized.resources) {
    if (row.basis != Basis::kAssumed || !Over(row)) {
      continue;
    }
    row.capacity = row.headroom_percent = row.lowest_percent = row.highest_percent = std::nullopt;
    row.sureness = Sureness::kOpen;
    sized.unproven.push_back(
        {row.resource, row.item,
         fmt::format("{}: only an assumed figure says that it is too little; rehearse that "
                     "production on that PC: `rigproof rehearse PROFILE`",
                     RowName(row.resource, row.item))});
  }
}

}  // namespace

bool Over(const SizedResource& row) {
  return row.headroom_percent && !(*row.headroom_percent >= 0);  // what is no number fits nothing
}

bool Below(const SizedResource& row) {
  return row.headroom_percent && !(*row.headroom_percent >= std::max(0.0, row.margin_percent));
}

void JudgeSized(const CpuBasis& cpu, SizedProduction& sized) {
  LeaveOpenWhatIsAssumed(sized);
  auto& rows = sized.resources;
  std::stable_sort(rows.begin(), rows.end(),
                   [](const auto& a, const auto& b) { return AboveMargin(a) < AboveMargin(b); });
  for (SizedResource& row : rows) {
    if (!cpu.unfair.empty() && row.sureness == Sureness::kSure) {
      row.sureness = Sureness::kLikely;
    }
  }
  const auto sure = [](const SizedResource& row) { return row.sureness == Sureness::kSure; };
  if (std::any_of(rows.begin(), rows.end(), Over)) {
    sized.verdict = Verdict::kShort;
    const bool one_is = std::any_of(rows.begin(), rows.end(), [&sure](const SizedResource& row) {
      return Over(row) && sure(row);
    });
    sized.sureness = one_is ? Sureness::kSure : Sureness::kLikely;
    return;
  }
  if (!sized.unproven.empty() || rows.empty()) {
    sized.verdict = Verdict::kUnproven;
    sized.sureness = Sureness::kOpen;
    return;
  }
  const bool tight = cpu.dropped || std::any_of(rows.begin(), rows.end(), Below);
  sized.verdict = tight ? Verdict::kTight : Verdict::kReady;
  sized.sureness =
      std::all_of(rows.begin(), rows.end(), sure) ? Sureness::kSure : Sureness::kLikely;
}

Sizer::Sizer(const Evidence& evidence)
    : evidence_(evidence),
      light_(WithoutSeries(evidence)),
      cpu_(CpuBasisOf(evidence)),
      now_(RowsOfGrown(light_, evidence.profile)) {}

SizedProduction Sizer::Size(const profiles::Profile& changed) const {
  SizedProduction sized;
  SizeCpu(evidence_, cpu_, changed, sized);
  SizeOthers(light_, now_, changed, sized);
  SizeUsb(light_, changed, sized);
  JudgeSized(cpu_, sized);
  return sized;
}

std::vector<std::string> UnprovenTexts(const SizedProduction& sized) {
  std::vector<std::string> texts;
  for (const UnprovenPart& part : sized.unproven) {
    texts.push_back(part.text);
  }
  return texts;
}

Sizing SizeUp(const NamedDocument& stored, const profiles::Profile& changed) {
  const Evidence& evidence = stored.document.evidence;
  const Sizer sizer(evidence);
  const SizedProduction sized = sizer.Size(changed);
  Sizing sizing;
  sizing.result = IdentityOf(stored);
  sizing.changes = ChangesOfProduction(evidence.profile, changed);
  sizing.verdict = sized.verdict;
  sizing.sureness = sized.sureness;
  sizing.resources = sized.resources;
  sizing.unproven = UnprovenTexts(sized);
  sizing.runs_out_first = RunsOutFirst(sized.resources);
  sizing.headline = HeadlineOf(sizing);
  if (std::any_of(sized.resources.begin(), sized.resources.end(), Below)) {
    sizing.remedies = FindRemedies(sizer, changed, sized);
    const bool mended = std::any_of(sizing.remedies.begin(), sizing.remedies.end(),
                                    [](const Remedy& remedy) { return remedy.sufficient; });
    if (!mended) {
      sizing.purchases = WhatToBuy(sizer, changed, sized);
    }
  }
  sizing.basis = SizingBasis(sizer);
  AddCautions(stored.document, sizer, sizing);
  return sizing;
}

void AddCheck(const Document& rehearsed, Sizing& sizing) {
  SizingCheck check;
  const CpuBasis seen = CpuBasisOf(rehearsed.evidence);
  check.verdict = rehearsed.verdict;
  if (!seen.lacking.empty()) {
    check.not_done = seen.lacking;
    sizing.check = check;
    return;
  }
  for (const SizedResource& row : sizing.resources) {
    if (row.resource == Resource::kCpu) {
      check.predicted_cpus = row.asked;
    }
  }
  const auto run = JudgeRun(rehearsed.evidence.results, rehearsed.evidence.profile.margins);
  check.seconds = run->hours * 3600;
  check.due = run->due;
  check.dropped = run->Dropped();
  check.carried = run->Permitted();
  check.measured_cpus = seen.room->used;
  if (check.measured_cpus > 0) {
    check.off_percent = 100 * (check.predicted_cpus / check.measured_cpus - 1);
  }
  check.text = fmt::format(
      "Rehearsed for {}: {} of {} frames dropped, {}; {:.2f} CPUs in use, {:.2f} predicted "
      "({:+.1f} "
      "%)",
      base::FormatSeconds(check.seconds), FormatCount(check.dropped), FormatCount(check.due),
      check.carried ? "as the profile allows" : "more than the profile allows", check.measured_cpus,
      check.predicted_cpus, check.off_percent);
  sizing.check = check;
}

}  // namespace report
