// SPDX-License-Identifier: Apache-2.0
//
// The wiring of the report page: drawn, and as a table.

#include "report/loads/wiring.h"

#include <algorithm>
#include <optional>
#include <vector>

#include "report/show/html/evidence.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"
#include "report/show/html/wiring_tree.h"

namespace report {

namespace {

const Finding* FindFinding(const Document& document, const std::string& id) {
  const auto found = std::find_if(document.findings.begin(), document.findings.end(),
                                  [&](const Finding& finding) { return finding.id == id; });
  return found == document.findings.end() ? nullptr : &*found;
}

/// The worst severity among a node's findings.
Mark WorstMark(const Document& document, const WiringNode& node) {
  Mark worst = Mark::kNone;
  for (const std::string& id : node.finding_ids) {
    const Finding* finding = FindFinding(document, id);
    if (finding == nullptr) {
      continue;
    }
    if (finding->severity == Severity::kStop) {
      return Mark::kStop;
    }
    if (finding->severity == Severity::kWarn) {
      worst = Mark::kWarn;
    } else if (worst == Mark::kNone) {
      worst = Mark::kNote;
    }
  }
  return worst;
}

std::string FindingTitles(const Document& document, const WiringNode& node) {
  std::string titles;
  for (const std::string& id : node.finding_ids) {
    const Finding* finding = FindFinding(document, id);
    titles += (titles.empty() ? "" : "; ") + (finding != nullptr ? finding->title : id);
  }
  return titles;
}

std::string RemarkText(const WiringNode& node) {
  const std::string reserved = NodeReservedText(node);
  return node.remark + (node.remark.empty() || reserved.empty() ? "" : "; ") + reserved;
}

Table WiringTable(const Document& document) {
  const std::vector<std::size_t> parents = ParentRows(document.wiring);
  Table table{"The same wiring in words",
              {{"Device", false},
               {"Kind", false},
               {"Place", false},
               {"Connected to", false},
               {"Link", true},
               {"Asked of it", true},
               {"Share", true},
               {"Streams and reserves", false},
               {"Findings", false}},
              {}};
  for (std::size_t row = 0; row < document.wiring.size(); ++row) {
    const WiringNode& node = document.wiring[row];
    const std::optional<double> load = node.used_percent;
    const bool found = !node.finding_ids.empty();
    table.rows.push_back(
        {{node.label},
         {std::string(base::WordOf(node.kind))},
         {node.path},
         {parents[row] == row ? std::string("the PC") : document.wiring[parents[row]].path},
         {LinkSpeedText(node)},
         {NodeLoadText(node)},
         {load ? FormatUsePercent(*load) : std::string(),
          load.value_or(0) > 100 ? Mark::kStop : Mark::kNone},
         {RemarkText(node)},
         {FindingTitles(document, node), WorstMark(document, node),
          found ? "#" + AnchorOf(node.finding_ids.front()) : std::string()}});
  }
  return table;
}

}  // namespace

View WiringView(const Document& document) {
  if (document.wiring.empty()) {
    return View(false);
  }
  std::vector<NodeNote> notes;
  for (const WiringNode& node : document.wiring) {
    const Move* move = document.move_plan ? MovedFrom(*document.move_plan, node) : nullptr;
    notes.push_back(
        {WorstMark(document, node), move == nullptr ? "" : "goes to " + move->new_path});
  }
  View view("tree", TreeView(document.wiring, notes, "Wiring"));
  view.set("table", ToView(WiringTable(document)));
  view.set("found", FindingsAt(document, ReportPart::kWiring));
  view.set("moves", MovesView(document));
  return view;
}

}  // namespace report
