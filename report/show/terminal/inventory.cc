// SPDX-License-Identifier: Apache-2.0

#include "report/show/terminal/inventory.h"

#include <string>

#include "report/show/rows/machine.h"
#include "report/show/terminal/blocks.h"

namespace report {

std::string WriteInventoryText(const probes::Inventory& inventory, const TerminalStyle& style) {
  TerminalPage page(style);
  page.Paragraph(0, {inventory.live ? "What this PC has"
                                    : "What the PC captured in " + inventory.machine_root + " has",
                     Tone::kStrong});
  for (const show::Part& part : MachineParts(inventory)) {
    PutPart(page, part);
  }
  if (!style.details) {
    page.Blank();
    page.Paragraph(0,
                   {"All modes, settings and counters: rigproof inventory --details", Tone::kDim});
  }
  return page.text();
}

}  // namespace report
