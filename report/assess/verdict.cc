// SPDX-License-Identifier: Apache-2.0
//
// Verdict from headroom and the judged run.

#include "report/assess/verdict.h"

#include <algorithm>

#include "report/assess/assess.h"
#include "report/headroom/fair_test.h"
#include "report/headroom/headroom.h"

namespace report {
namespace {

bool OutputFailed(const Facts& facts) {
  const auto& rehearsal = facts.results().rehearsal;
  return rehearsal && std::any_of(rehearsal->outputs.begin(), rehearsal->outputs.end(),
                                  [](const auto& output) { return !output.failure.empty(); });
}

}  // namespace

Verdict Judge(const Facts& facts, const std::vector<Headroom>& headroom) {
  if (const FairTest fair = JudgeFairness(facts, headroom); fair.fair == false) {
    return fair.short_anyway ? Verdict::kShort : Verdict::kUnproven;
  }
  const bool dropped = facts.run && facts.run->Dropped() > 0;
  const bool over = std::any_of(headroom.begin(), headroom.end(), OverCapacity);
  if ((dropped && !facts.run->Permitted()) || over) {
    return Verdict::kShort;
  }
  const bool unknown = std::any_of(headroom.begin(), headroom.end(),
                                   [](const Headroom& row) { return !row.capacity; });
  if (unknown || !facts.run || !facts.results().rehearsal->complete || facts.run->due <= 0 ||
      facts.run->hours <= 0 || OutputFailed(facts)) {
    return Verdict::kUnproven;
  }
  if (dropped || std::any_of(headroom.begin(), headroom.end(), BelowMargin)) {
    return Verdict::kTight;
  }
  return Verdict::kReady;
}

bool Complete(const Facts& facts) {
  const bench::Results& results = facts.results();
  if (facts.evidence.length == kSurvey) {
    return true;
  }
  return results.rehearsal && results.rehearsal->complete &&
         (!results.flat_out || results.flat_out->complete);
}

int ExitStatus(Verdict verdict) {
  switch (verdict) {
    case Verdict::kReady:
      return 0;
    case Verdict::kTight:
      return 3;
    case Verdict::kShort:
      return 4;
    case Verdict::kUnproven:
      return 5;
  }
  return 5;
}

}  // namespace report
