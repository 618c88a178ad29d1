// SPDX-License-Identifier: Apache-2.0
//
// The findings of the report page: severity in words, evidence, and what to do.

#include <set>

#include "report/show/html/evidence.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"
#include "report/show/rows/verdict.h"

namespace report {

View FindingsView(const Document& document) {
  if (document.findings.empty()) {
    return View(false);
  }
  std::set<std::string> anchors;
  ViewList list;
  for (const Finding& finding : document.findings) {
    const std::string anchor = AnchorOf(finding.id);
    View view("title", View(finding.title));
    view.set("anchored", View(anchors.insert(anchor).second));  // one place per anchor
    view.set("anchor", View(anchor));
    view.set("id", View(finding.id));
    const show::Cell word = SeverityCell(finding.severity);
    view.set("mark", View(MarkClass(word.mark)));
    view.set("sign", View(MarkSign(word.mark)));
    view.set("word", View(word.text));
    view.set("has_evidence", View(!finding.evidence.empty()));
    view.set("evidence", ToView(finding.evidence));
    view.set("has_action", View(!finding.action.empty()));
    view.set("action", View(finding.action));
    view.set("places", PlacesView(document, finding));
    list.emplace_back(view);
  }
  return View("list", View(list));
}

}  // namespace report
