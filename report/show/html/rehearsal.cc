// SPDX-License-Identifier: Apache-2.0
//
// The rehearsal on the report page: its parts, and the findings that rest on them.

#include "report/show/rows/rehearsal.h"

#include "report/show/html/evidence.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"

namespace report {

View RehearsalView(const Document& document) {
  View view("ran", View(document.evidence.results.rehearsal.has_value()));
  view.set("found_over_time", FindingsAt(document, ReportPart::kOverTime));
  view.set("found_drops", FindingsAt(document, ReportPart::kDrops));
  view.set("ledger", ToView(LedgerPart(document)));
  view.set("lateness", ToView(LatenessPart(document)));
  view.set("dropped", ToView(DropsPart(document)));
  view.set("costs", ToView(CostPart(document)));
  return view;
}

}  // namespace report
