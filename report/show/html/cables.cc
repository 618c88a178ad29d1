// SPDX-License-Identifier: Apache-2.0
//
// Cables and camera control of the production on the report page.

#include "report/loads/cable_lines.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"
#include "report/words/cautions.h"

namespace report {

namespace {

Cell FitCell(CableFit fit) {
  const Mark mark = fit == CableFit::kBeyond    ? Mark::kWarn
                    : fit == CableFit::kNotSure ? Mark::kUnknown
                    : fit == CableFit::kNoLimit ? Mark::kNone
                                                : Mark::kGood;
  return {FitText(fit), mark};
}

Table CableTable(const Document& document) {
  Table table{"Cables",
              {{"Source", false},
               {"Cable", false},
               {"Carries", false},
               {"Limit", true},
               {"Length is", false},
               {"Limit by", false}},
              {}};
  const Evidence& evidence = document.evidence;
  for (const CableLine& line : CableLines(evidence.profile, CableSpeeds(evidence))) {
    table.rows.push_back({{line.source},
                          {line.cable},
                          {OrDash(line.carries)},
                          {OrDash(line.limit)},
                          FitCell(line.fit),
                          {line.basis}});
  }
  return table;
}

Table ChainTable(const Document& document) {
  Table table{"Camera control",
              {{"Chain", false},
               {"Wires", false},
               {"Addresses and cameras", false},
               {"Length", false},
               {"Limit", true},
               {"Length is", false},
               {"Limit by", false}},
              {}};
  for (const ChainLine& line : ChainLines(document.evidence.profile)) {
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

void PutCables(const Document& document, View& view) {
  const profiles::Profile& profile = document.evidence.profile;
  bool any = !profile.camera_control.empty();
  for (const profiles::Source& source : profile.sources) {
    any = any || source.cable.has_value();
  }
  view.set("has_cables", View(any));
  view.set("cables", ToView(CableTable(document)));
  view.set("control", ToView(ChainTable(document)));
  view.set("cable_caution", View(std::string(kCautionMains)));
}

}  // namespace report
