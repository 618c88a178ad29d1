// SPDX-License-Identifier: Apache-2.0

#include "report/show/terminal/cables.h"

#include <fmt/format.h>

#include "report/loads/cable_lines.h"
#include "report/show/terminal/table.h"
#include "report/words/cautions.h"

namespace report {
namespace {

Piece FitPiece(CableFit fit) {
  return {FitText(fit), fit == CableFit::kBeyond    ? Tone::kStop
                        : fit == CableFit::kNotSure ? Tone::kWarn
                                                    : Tone::kPlain};
}

std::string OrDash(const std::string& text) {
  return text.empty() ? "-" : text;
}

void PutCables(TerminalPage& page, const std::vector<CableLine>& lines) {
  TerminalTable table;
  table.columns = {{"source", false, 10},
                   {"cable", false, 16},
                   {"carries", false, 12},
                   {"limit", true},
                   {"length is", false, 8}};
  for (const CableLine& line : lines) {
    table.rows.push_back({{line.source},
                          {line.cable},
                          {OrDash(line.carries)},
                          {OrDash(line.limit)},
                          FitPiece(line.fit)});
  }
  PutTable(page, 2, table);
  for (const CableLine& line : lines) {
    page.Paragraph(2, {fmt::format("{}: {}", line.source, line.basis), Tone::kDim});
  }
}

void PutChains(TerminalPage& page, const std::vector<ChainLine>& lines) {
  TerminalTable table;
  table.columns = {{"control", false, 10}, {"wires", false, 14}, {"cameras", false, 12},
                   {"length", false, 14},  {"limit", true},      {"length is", false, 8}};
  for (const ChainLine& line : lines) {
    table.rows.push_back({{line.name},
                          {line.wires},
                          {line.cameras},
                          {line.length},
                          {line.limit},
                          FitPiece(line.fit)});
  }
  PutTable(page, 2, table);
  for (const ChainLine& line : lines) {
    page.Paragraph(2, {fmt::format("{}: {}", line.name, line.basis), Tone::kDim});
  }
}

}  // namespace

void PutCablesAndControl(TerminalPage& page, const profiles::Profile& profile,
                         const std::vector<profiles::NegotiatedSpeeds>& speeds) {
  const auto cables = CableLines(profile, speeds);
  const auto chains = ChainLines(profile);
  if (cables.empty() && chains.empty()) {
    return;
  }
  page.Heading("Cables and control");
  if (!cables.empty()) {
    PutCables(page, cables);
  }
  if (!chains.empty()) {
    PutChains(page, chains);
  }
  page.Paragraph(2, {std::string(kCautionMains)});
}

}  // namespace report
