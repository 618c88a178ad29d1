// SPDX-License-Identifier: Apache-2.0
//
// The machine on the report page, part by part.

#include "report/show/rows/machine.h"

#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"

namespace report {

View MachineView(const Document& document) {
  ViewList parts;
  for (const show::Part& part : MachineParts(document.evidence.inventory)) {
    parts.emplace_back(ToView(part));
  }
  return View("parts", View(parts));
}

}  // namespace report
