// SPDX-License-Identifier: Apache-2.0

#include "report/compare/compare.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "report/compare/figures.h"
#include "report/compare/machines.h"
#include "report/compare/words.h"
#include "report/fields/comparison.h"
#include "report/words/quantities.h"

namespace report {
namespace {

int CountOf(const std::vector<ComparedFigure>& figures, Standing standing) {
  return static_cast<int>(
      std::count_if(figures.begin(), figures.end(),
                    [standing](const auto& figure) { return figure.standing == standing; }));
}

std::string NameOf(const ComparedFigure& figure) {
  const std::string of = figure.item.empty() ? "" : " of " + figure.item;
  return figure.group == "headroom" ? figure.what + " headroom" : figure.what + of;
}

/// What got worse first, else what got better.
const ComparedFigure* FirstChange(const std::vector<ComparedFigure>& figures) {
  for (const Standing standing : {Standing::kWorse, Standing::kBetter}) {
    const auto found = std::find_if(figures.begin(), figures.end(), [standing](const auto& figure) {
      return figure.standing == standing;
    });
    if (found != figures.end()) {
      return &*found;
    }
  }
  return nullptr;
}

std::string FiguresSentence(const Comparison& comparison) {
  const ComparedFigure* const first = FirstChange(comparison.figures);
  if (first == nullptr) {
    return comparison.tests == 0
               ? "No real difference was seen, and nothing was there to test"
               : fmt::format(
                     "No real difference: {} tested, none differs by more than chance and "
                     "the {:.0f} % that runs of one PC differ by",
                     Plural(comparison.tests, "figure"), 100 * kRunToRun);
  }
  const int worse = CountOf(comparison.figures, Standing::kWorse);
  const int better = CountOf(comparison.figures, Standing::kBetter);
  return fmt::format("{} worse, {} better; first: {} {}, {} before and {} after", worse, better,
                     NameOf(*first), StandingText(first->standing),
                     FigureValue(*first, first->before), FigureValue(*first, first->after));
}

std::string HeadlineOf(const Comparison& comparison) {
  std::string text;
  if (!comparison.productions.empty()) {
    text = "The productions are not the same: what follows compares different work. ";
  }
  const std::string_view was = stored::WordOf(comparison.before.verdict);
  const std::string_view is = stored::WordOf(comparison.after.verdict);
  text += was == is ? fmt::format("Both {}. ", is) : fmt::format("{} before, {} after. ", was, is);
  text[0] = static_cast<char>(text[0] >= 'a' && text[0] <= 'z' ? text[0] - 'a' + 'A' : text[0]);
  return text + FiguresSentence(comparison) + ".";
}

void AddCautions(const NamedDocument& before, const NamedDocument& after, Comparison& comparison) {
  for (const NamedDocument* const named : {&before, &after}) {
    if (!named->document.complete) {
      comparison.cautions.push_back(base::Printable(named->name) +
                                    " is incomplete: what did not run is not compared");
    }
    if (named->document.evidence.length == kSurvey) {
      comparison.cautions.push_back(base::Printable(named->name) +
                                    " is a survey: nothing was run in it");
    }
  }
  if (comparison.before.length != comparison.after.length) {
    comparison.cautions.push_back(
        fmt::format("Not made at the same length ({} and {}): a longer run finds more",
                    base::Printable(comparison.before.length, 40),
                    base::Printable(comparison.after.length, 40)));
  }
  if (comparison.tests > 0) {
    comparison.cautions.emplace_back(
        "One run each tells windows of a run from each other, not run from run: for a decision "
        "that "
        "costs money run each twice");
  }
}

void AddMethod(Comparison& comparison) {
  comparison.method.push_back(fmt::format(
      "Series of one-second windows: Welch's t test of their means; a series is worth fewer "
      "independent windows the more each is like the one before, n (1 - r) / (1 + r) by its "
      "lag-one "
      "correlation r. Differences below {:.0f} % of the larger mean count as none (assumed: runs "
      "of "
      "one PC differ so much)",
      100 * kRunToRun));
  comparison.method.emplace_back(
      "Frames dropped: permutation test of what each second dropped, in blocks as long as seconds "
      "are "
      "alike, for drops come in bursts; interval of the ratio by bootstrap of the same blocks");
  comparison.method.emplace_back(
      "Outages: seconds with dropped frames that follow each other are one outage; exact "
      "comparison "
      "of two Poisson rates (binomial, given the sum), interval of the ratio by Clopper and "
      "Pearson");
  comparison.method.push_back(
      fmt::format("{}: the chance beside each is corrected by Holm's method, so that all of them "
                  "together name a difference where there is none in at most 5 of 100 comparisons",
                  Plural(comparison.tests, "test")));
  comparison.method.push_back(fmt::format(
      "Single figures (costs, memory): within {:.0f} % of each other they count as the same "
      "(assumed), else as unsure",
      100 * kOneFigure));
}

}  // namespace

ComparedResult IdentityOf(const NamedDocument& named) {
  const Document& document = named.document;
  const Evidence& evidence = document.evidence;
  ComparedResult result;
  result.name = named.name;
  result.production = evidence.profile.name;
  result.started_at = evidence.started_at;
  result.length = evidence.length;
  const probes::CpuInventory& cpu = evidence.inventory.cpu;
  result.machine = cpu.model.known() ? *cpu.model : "CPU not known";
  if (cpu.usable_cpus.known()) {
    result.machine += fmt::format(", {:.3g} CPUs", *cpu.usable_cpus);
  }
  const probes::SettingsInventory& settings = evidence.inventory.settings;
  result.system = settings.os.known() ? *settings.os : "system not known";
  if (settings.kernel.known()) {
    result.system += ", kernel " + *settings.kernel;
  }
  result.program_version = evidence.program_version;
  result.verdict = document.verdict;
  result.complete = document.complete;
  result.headline = document.headline;
  return result;
}

std::string StandingText(Standing standing) {
  return std::string(stored::WordOf(standing));
}

Comparison Compare(const NamedDocument& before, const NamedDocument& after) {
  Comparison comparison;
  comparison.before = IdentityOf(before);
  comparison.after = IdentityOf(after);
  comparison.productions =
      ChangesOfProduction(before.document.evidence.profile, after.document.evidence.profile);
  comparison.machines =
      ChangesOfMachine(before.document.evidence.inventory, after.document.evidence.inventory);
  CompareRuns(before.document, after.document, comparison.figures);
  comparison.tests = DecideTested(comparison.figures);
  CompareRoom(before.document, after.document, comparison.figures);
  CompareCosts(before.document, after.document, comparison.figures);
  CompareHeadroom(before.document, after.document, comparison.figures);
  comparison.headline = HeadlineOf(comparison);
  AddCautions(before, after, comparison);
  AddMethod(comparison);
  return comparison;
}

}  // namespace report
