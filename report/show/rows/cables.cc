// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/cables.h"

#include <string>

#include "report/loads/cable_lines.h"
#include "report/show/rows/verdict.h"
#include "report/words/cautions.h"

namespace report {
namespace {

using show::Mark;
using show::Table;
using show::When;

/// The sign of the finding that is made of it.
show::Cell FitCell(CableFit fit) {
  if (const auto severity = SeverityOf(fit)) {
    return {FitText(fit), SeverityCell(*severity).mark};
  }
  return {FitText(fit), fit == CableFit::kNoLimit ? Mark::kNone : Mark::kGood};
}

Table CableTable(const std::vector<CableLine>& lines) {
  Table table{"Cables",
              {{"Source", false, false, 10},
               {"Cable", false, false, 16},
               {"Carries", false, false, 12},
               {"Limit", true},
               {"Length is"},
               {"Limit by", false, true, 8, When::kDetails}},
              {}};
  for (const CableLine& line : lines) {
    table.rows.push_back({{line.source},
                          {line.cable},
                          {show::OrDash(line.carries)},
                          {show::OrDash(line.limit)},
                          FitCell(line.fit),
                          {line.basis}});
  }
  return table;
}

Table ChainTable(const std::vector<ChainLine>& lines) {
  Table table{"Camera control",
              {{"Chain", false, false, 10},
               {"Wires", false, false, 14},
               {"Address, camera", false, false, 12},
               {"Length", false, false, 14},
               {"Limit", true},
               {"Length is"},
               {"Limit by", false, true, 8, When::kDetails}},
              {}};
  for (const ChainLine& line : lines) {
    table.rows.push_back({{line.name},
                          {line.wires},
                          {line.cameras},
                          {line.length},
                          {line.limit},
                          FitCell(line.fit),
                          {line.basis}});
  }
  return table;
}

}  // namespace

show::Part CablesPart(const profiles::Profile& profile,
                      const std::vector<profiles::NegotiatedSpeeds>& speeds) {
  const std::vector<CableLine> cables = CableLines(profile, speeds);
  const std::vector<ChainLine> chains = ChainLines(profile);
  show::Part part{"Cables and control", {}};
  if (!cables.empty()) {
    part.blocks.emplace_back(CableTable(cables));
  }
  if (!chains.empty()) {
    part.blocks.emplace_back(ChainTable(chains));
  }
  if (!part.empty()) {
    part.blocks.emplace_back(show::Note{{std::string(kCautionMains)}});
  }
  return part;
}

}  // namespace report
