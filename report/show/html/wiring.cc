// SPDX-License-Identifier: Apache-2.0
//
// The wiring of the report page and the move plan: drawn, and in words.

#include "report/show/rows/wiring.h"

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "report/data/document.h"
#include "report/loads/wiring.h"
#include "report/show/html/evidence.h"
#include "report/show/html/pieces.h"
#include "report/show/html/sections.h"
#include "report/words/quantities.h"

namespace report {
namespace {

// A tree of USB links as the page draws it: the wiring as it is, and after the moves.

/// What a drawing says of a node beside the node's own facts.
struct NodeNote {
  Mark mark = Mark::kNone;
  std::string moved;  // "goes to 4-1"; empty: it stays
};

// The drawing's own units; the page scales or scrolls it.
constexpr int kRowHeight = 46;
constexpr int kIndent = 30;
constexpr int kLeft = 10;
constexpr int kWidth = 820;
constexpr int kLinkColumn = 560;  // speed and load start here
constexpr int kLoadWidth = 120;
constexpr int kDeepest = 8;  // USB has seven tiers; a stranger's tree may claim more
constexpr int kLetterWidth = 8;

/// `text` shortened to about `width` units, whole characters only.
std::string Fit(const std::string& text, int width) {
  std::string shown = base::Printable(text, 400);
  const int most = std::max(4, width / kLetterWidth);
  int letters = 0;
  for (std::size_t at = 0; at < shown.size(); ++at) {
    const bool starts_letter = (static_cast<unsigned char>(shown[at]) & 0xC0U) != 0x80U;
    if (starts_letter && ++letters > most) {
      return shown.substr(0, at) + "…";
    }
  }
  return shown;
}

/// The stroke of a link says how much it carries: none, some, most, too much.
std::string LoadClass(const std::optional<double>& percent) {
  if (!percent || *percent <= 0) {
    return "idle";
  }
  if (*percent > 100) {
    return "over";
  }
  return *percent > 50 ? "heavy" : "some";
}

int DepthOf(const WiringNode& node) {
  return std::clamp(node.depth, 0, kDeepest);
}

std::string DetailText(const WiringNode& node, const NodeNote& note) {
  return fmt::format("{} · {}", base::WordOf(node.kind), node.path) +
         (note.moved.empty() ? "" : " · " + note.moved);
}

View NodeView(const std::vector<WiringNode>& nodes, std::size_t row, std::size_t parent,
              const NodeNote& note) {
  const WiringNode& node = nodes[row];
  const int x = kLeft + DepthOf(node) * kIndent;
  const int y = static_cast<int>(row) * kRowHeight;
  const int middle = y + kRowHeight / 2;
  const std::optional<double> load = node.used_percent;
  const int parent_x = kLeft + DepthOf(nodes[parent]) * kIndent + kIndent / 2;
  const int parent_y = static_cast<int>(parent) * kRowHeight + kRowHeight - 5;
  View view("node_x", View(std::to_string(x)));
  view.set("node_y", View(std::to_string(y + 5)));
  view.set("node_width", View(std::to_string(kLinkColumn - 20 - x)));
  view.set("text_x", View(std::to_string(x + 14)));
  view.set("name_y", View(std::to_string(y + 20)));
  view.set("detail_y", View(std::to_string(y + 34)));
  view.set("share_y", View(std::to_string(y + 15)));
  view.set("has_parent", View(parent != row));
  view.set("link_path", View(fmt::format("M{} {}V{}H{}", parent_x, parent_y, middle, x)));
  view.set("load_class", View(LoadClass(load)));
  view.set("full_name", View(node.label));
  view.set("short_name", View(Fit(node.label, kLinkColumn - 80 - x)));
  view.set("detail", View(Fit(DetailText(node, note), kLinkColumn - 50 - x)));
  view.set("speed", View(LinkSpeedText(node)));
  view.set("load_text", View(NodeLoadText(node)));
  view.set("has_load", View(load.has_value()));
  view.set("load_percent", View(load ? FormatUsePercent(*load) : std::string()));
  view.set("load_width", View(fmt::format("{:.1f}", std::clamp(load.value_or(0), 0.0, 100.0) / 100 *
                                                        kLoadWidth)));
  view.set("node_marked", View(note.mark != Mark::kNone));
  view.set("mark", View(MarkClass(note.mark)));
  view.set("sign", View(MarkSign(note.mark)));
  view.set("is_moved", View(!note.moved.empty()));
  view.set("sign_x", View(std::to_string(kLinkColumn - 36)));
  return view;
}

/// For the partial "tree": coordinates in the drawing's own units. `nodes` depth first, one note
/// for each; `title` is what a screen reader says of it.
View TreeView(const std::vector<WiringNode>& nodes, const std::vector<NodeNote>& notes,
              const std::string& title) {
  const std::vector<std::size_t> parents = ParentRows(nodes);
  // Links first: boxes cover their ends.
  ViewList drawn;
  for (std::size_t row = nodes.size(); row-- > 0;) {
    drawn.emplace_back(NodeView(nodes, row, parents[row], notes[row]));
  }
  const auto count = static_cast<std::int64_t>(nodes.size());
  View view("nodes", View(drawn));
  view.set("width", View(std::to_string(kWidth)));
  view.set("height", View(std::to_string(count * kRowHeight + 8)));
  view.set("link_x", View(std::to_string(kLinkColumn)));
  view.set("load_x", View(std::to_string(kLinkColumn + 80)));
  view.set("share_x", View(std::to_string(kLinkColumn + 80 + kLoadWidth + 8)));
  view.set("load_text_x", View(std::to_string(kLinkColumn)));
  view.set("load_full", View(std::to_string(kLoadWidth)));
  view.set("tree_title", View(title + " of " + Plural(count, "device")));
  return view;
}

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
