// SPDX-License-Identifier: Apache-2.0
//
// The wiring of the report page and the move plan: drawn, and in words.

#include "report/show/rows/wiring.h"

#include <vector>

#include "report/show/html/evidence.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"
#include "report/show/html/wiring_tree.h"

namespace report {

namespace {

/// The words with a link from what was found of a node to the first finding.
Table LinkedTable(const Document& document) {
  Table table = WiringTable(document);
  for (std::size_t row = 0; row < table.rows.size(); ++row) {
    const std::vector<std::string>& ids = document.wiring[row].finding_ids;
    table.rows[row].back().link = ids.empty() ? "" : "#" + AnchorOf(ids.front());
  }
  return table;
}

View DrawingNow(const Document& document, const Table& words) {
  std::vector<NodeNote> notes;
  for (std::size_t row = 0; row < document.wiring.size(); ++row) {
    notes.push_back(
        {words.rows[row].back().mark,
         document.move_plan ? GoesText(*document.move_plan, document.wiring[row]) : ""});
  }
  return TreeView(document.wiring, notes, "Wiring");
}

View DrawingAfter(const MovePlan& plan) {
  std::vector<NodeNote> notes;
  for (const WiringNode& node : plan.wiring) {
    notes.push_back(
        {node.used_percent.value_or(0) > 100 ? Mark::kStop : Mark::kNone, CameText(plan, node)});
  }
  return TreeView(plan.wiring, notes, "Wiring after the moves");
}

}  // namespace

View WiringView(const Document& document) {
  if (document.wiring.empty()) {
    return View(false);
  }
  const Table words = LinkedTable(document);
  View view("tree", DrawingNow(document, words));
  view.set("table", ToView(words));
  view.set("found", FindingsAt(document, ReportPart::kWiring));
  view.set("moves", ToView(MovesPart(document)));
  View after = ToView(LinksAfterPart(document));
  if (!after.is_false()) {
    after.set("drawing", DrawingAfter(*document.move_plan));
  }
  view.set("after", after);
  return view;
}

}  // namespace report
