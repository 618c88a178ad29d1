// SPDX-License-Identifier: Apache-2.0
//
// Evidence to document.

#include "report/assess/assess.h"

#include <algorithm>
#include <utility>

#include "report/assess/method.h"
#include "report/assess/verdict.h"
#include "report/explain/rehearsal.h"
#include "report/explain/speed_steps.h"
#include "report/headroom/ballast_figures.h"
#include "report/headroom/fair_test.h"
#include "report/headroom/headroom.h"
#include "report/loads/facts.h"
#include "report/loads/wiring.h"
#include "report/moves/plan.h"
#include "report/predict/room.h"
#include "report/rules/all.h"

namespace report {

Document Assess(Evidence evidence) {
  Document document;
  document.evidence = std::move(evidence);
  document.causes = ExplainDrops(document.evidence);
  document.steps = FindSpeedSteps(document.evidence);
  document.proof = ProofOf(document.evidence);
  const Facts facts = GatherFacts(document.evidence);
  document.headroom = AllHeadroom(facts);
  document.fair_test = JudgeFairness(facts, document.headroom);
  document.by_ballast = BallastFigures(facts);
  document.findings = rules::AllFindings(
      {facts, document.headroom, document.causes, document.steps, document.fair_test});
  if (document.evidence.length != kRehearsalOnly) {
    document.move_plan = PlanMoves(facts, document.findings);
  }
  for (const UsbStream& stream : facts.streams) {
    document.streams.push_back(stream.shown);
    document.streams.back().reserved_us = ReservedUs(facts.links, stream);
  }
  document.wiring = BuildWiring(facts.links, facts.streams, document.findings);
  document.verdict = Judge(facts, document.headroom);
  document.complete = Complete(facts);
  document.headline = Headline(facts, document.headroom);
  document.first_limit = FirstLimit(facts, document.headroom);
  document.reasons = Reasons(facts, document.headroom);
  document.capacity = PredictCapacity(document.evidence);
  document.method = MethodLines(facts);
  document.cautions = Cautions(document.evidence);
  return document;
}

}  // namespace report
