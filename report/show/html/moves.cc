// SPDX-License-Identifier: Apache-2.0
//
// The move plan of the report page: steps in words, the wiring after them, the loaded links before
// and after.

#include <algorithm>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "report/loads/wiring.h"
#include "report/moves/text.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"
#include "report/show/html/wiring_tree.h"
#include "report/words/quantities.h"

namespace report {

namespace {

constexpr int kDeepest = 8;
constexpr int kBarWidth = 120;  // the bar's own units

View LinkView(const WiringNode& node, const std::string& moved) {
  const std::optional<double> used = node.used_percent;
  const double share = std::clamp(used.value_or(0), 0.0, 100.0);
  View view("level", View(std::to_string(std::clamp(node.depth, 0, kDeepest))));
  view.set("path", View(node.path));
  view.set("label", View(node.label));
  view.set("kind", View(std::string(base::WordOf(node.kind))));
  view.set("speed", View(LinkSpeedText(node)));
  view.set("load_text", View(NodeLoadText(node)));
  view.set("has_load", View(used.has_value()));
  view.set("percent", View(used ? FormatUsePercent(*used) : std::string()));
  view.set("over", View(used.value_or(0) > 100));
  view.set("bar_full", View(std::to_string(kBarWidth)));
  view.set("bar_width", View(fmt::format("{:.1f}", share / 100 * kBarWidth)));
  view.set("is_moved", View(!moved.empty()));
  view.set("moved", View(moved));
  return view;
}

/// The same hub or controller in the other list; null where only plugs are told.
const WiringNode* SameLink(const std::vector<WiringNode>& nodes, const WiringNode& node) {
  const auto found = std::find_if(nodes.begin(), nodes.end(), [&](const WiringNode& other) {
    return other.path == node.path && other.kind == node.kind;
  });
  return node.kind == NodeKind::kCapture || found == nodes.end() ? nullptr : &*found;
}

std::string ShareText(const WiringNode& node) {
  return node.used_percent ? FormatUsePercent(*node.used_percent) : "not known";
}

/// What of a link the moves change: "now 92 %".
std::string ChangeText(const WiringNode& node, const std::vector<WiringNode>& others,
                       const char* when) {
  const WiringNode* const other = SameLink(others, node);
  if (other == nullptr || ShareText(*other) == ShareText(node)) {
    return "";
  }
  return std::string(when) + " " + ShareText(*other);
}

View Links(const Document& document, const MovePlan& plan, bool after) {
  ViewList list;
  for (const WiringNode& node : after ? plan.wiring : document.wiring) {
    if (!NodeLoaded(node)) {
      continue;
    }
    const Move* move = after ? MovedTo(plan, node) : MovedFrom(plan, node);
    const std::string moved =
        move == nullptr ? "" : (after ? "came from " + move->path : "goes to " + move->new_path);
    View view = LinkView(node, moved);
    const std::string change = after ? ChangeText(node, document.wiring, "now")
                                     : ChangeText(node, plan.wiring, "after the moves");
    view.set("changes", View(!change.empty()));
    view.set("change", View(change));
    list.emplace_back(view);
  }
  return View(list);
}

View AfterTree(const MovePlan& plan) {
  std::vector<NodeNote> notes;
  for (const WiringNode& node : plan.wiring) {
    const Move* move = MovedTo(plan, node);
    notes.push_back({node.used_percent.value_or(0) > 100 ? Mark::kStop : Mark::kNone,
                     move == nullptr ? "" : "came from " + move->path});
  }
  return TreeView(plan.wiring, notes, "Wiring after the moves");
}

}  // namespace

View MovesView(const Document& document) {
  if (!document.move_plan) {
    return View(false);
  }
  const MovePlan& plan = *document.move_plan;
  ViewList steps;
  for (const Move& move : plan.moves) {
    steps.emplace_back(View("text", View(move.text)));
  }
  View view("has_moves", View(!plan.moves.empty()));
  view.set("no_moves", View(NoMovesText(plan)));
  view.set("now", View(FullestText(plan.worst_before, plan.percent_before)));
  view.set("then", View(FullestText(plan.worst_after, plan.percent_after)));
  view.set("steps", View(steps));
  view.set("has_mends", View(!plan.mends.empty()));
  view.set("mends", ToView(plan.mends));
  view.set("has_why", View(!plan.why.empty()));
  view.set("why", ToView(plan.why));
  view.set("tree_after", plan.wiring.empty() ? View(false) : AfterTree(plan));
  view.set("before", Links(document, plan, false));
  view.set("after", Links(document, plan, true));
  return view;
}

}  // namespace report
