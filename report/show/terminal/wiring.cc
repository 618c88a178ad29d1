// SPDX-License-Identifier: Apache-2.0
//
// The wiring that captures use, the move plan, and the wiring after it, on a terminal.

#include "report/loads/wiring.h"

#include <algorithm>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "report/moves/text.h"
#include "report/show/terminal/sections.h"
#include "report/words/quantities.h"

namespace report {
namespace {

constexpr int kWidestLead = 22;

std::string LoadOf(const WiringNode& node) {
  std::string text;
  if (node.demand_bytes_per_second.value_or(0) > 0) {
    const auto used = node.used_percent;
    text += ", " + NodeLoadText(node) + (used ? ", " + FormatUsePercent(*used) : "");
  }
  const std::string reserved = NodeReservedText(node);
  return reserved.empty() ? text : text + ", " + reserved;
}

Tone ToneOf(const WiringNode& node) {
  constexpr double kWhole = 100;
  const bool over = node.used_percent.value_or(0) > kWhole;
  return over ? Tone::kStop : (node.kind == NodeKind::kCapture ? Tone::kStrong : Tone::kPlain);
}

/// `plan` where the tree is the one after its moves.
void PutTree(TerminalPage& page, const std::vector<WiringNode>& nodes, const MovePlan* plan) {
  for (const WiringNode& node : nodes) {
    if (!NodeLoaded(node)) {
      continue;
    }
    const int indent = 2 + 2 * std::clamp(node.depth - (node.depth > 0 ? 1 : 0), 0, 8);
    const Move* move = plan == nullptr ? nullptr : MovedTo(*plan, node);
    std::string text =
        fmt::format("{}: {}", base::WordOf(node.kind), node.label.empty() ? "no name" : node.label);
    if (node.speed_mbps > 0) {
      text += ", " + FormatLinkSpeed(node.speed_mbps);
    }
    text += LoadOf(node);
    if (move != nullptr) {
      text += " (moved here from " + move->path + ")";
    }
    const int lead = std::min(DisplayWidth(node.path) + 2, kWidestLead);
    page.Beside(indent, {node.path}, lead, {text, ToneOf(node)});
    if (!node.remark.empty()) {
      page.Paragraph(indent + lead, {node.remark, Tone::kDim});
    }
  }
}

void PutWhy(TerminalPage& page, const MovePlan& plan) {
  for (const std::string& why : plan.why) {
    page.Beside(2, {"-"}, 2, {why, Tone::kDim});
  }
}

void PutMoves(TerminalPage& page, const MovePlan& plan) {
  constexpr int kLabelColumns = 9;
  page.Heading("Move plan");
  if (plan.moves.empty()) {
    page.Paragraph(2, {NoMovesText(plan), Tone::kStrong});
    if (!plan.worst_before.empty()) {
      page.Beside(2, {"fullest"}, kLabelColumns,
                  {FullestText(plan.worst_before, plan.percent_before)});
    }
    PutWhy(page, plan);
    return;
  }
  page.Beside(2, {"now"}, kLabelColumns, {FullestText(plan.worst_before, plan.percent_before)});
  page.Beside(2, {"then"}, kLabelColumns,
              {FullestText(plan.worst_after, plan.percent_after), Tone::kGood});
  int number = 0;
  for (const Move& move : plan.moves) {
    page.Beside(2, {fmt::format("{}.", ++number)}, 4, {move.text, Tone::kStrong});
  }
  for (const std::string& title : plan.mends) {
    page.Beside(2, {"mends"}, kLabelColumns, {title});
  }
  PutWhy(page, plan);
  page.Heading("Wiring after the moves");
  PutTree(page, plan.wiring, &plan);
}

}  // namespace

void PutWiring(TerminalPage& page, const Document& document) {
  if (std::none_of(document.wiring.begin(), document.wiring.end(), NodeLoaded)) {
    return;
  }
  page.Heading("Wiring");
  PutTree(page, document.wiring, nullptr);
  if (document.move_plan) {
    PutMoves(page, *document.move_plan);
  }
}

}  // namespace report
