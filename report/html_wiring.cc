// SPDX-License-Identifier: Apache-2.0
//
// The wiring of the report page: the tree laid out as coordinates, and as a table.

#include <algorithm>
#include <map>
#include <optional>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "report/html_evidence.h"
#include "report/html_pieces.h"
#include "report/html_sections.h"
#include "report/wiring.h"

namespace report {

namespace {

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

std::string SpeedText(double mbps) {
  return mbps <= 0 ? "" : FormatLinkSpeed(mbps);
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

int DepthOf(const WiringNode& node) {
  return std::clamp(node.depth, 0, kDeepest);
}

/// Row of the node that each node hangs from; its own row for one that hangs from none.
std::vector<std::size_t> ParentRows(const std::vector<WiringNode>& nodes) {
  std::vector<std::size_t> parents;
  std::map<int, std::size_t> last_at_depth;
  for (std::size_t row = 0; row < nodes.size(); ++row) {
    const int depth = DepthOf(nodes[row]);
    last_at_depth.erase(last_at_depth.lower_bound(depth), last_at_depth.end());
    parents.push_back(last_at_depth.empty() ? row : last_at_depth.rbegin()->second);
    last_at_depth[depth] = row;
  }
  return parents;
}

View NodeDrawing(const Document& document, std::size_t row, std::size_t parent) {
  const WiringNode& node = document.wiring[row];
  const int x = kLeft + DepthOf(node) * kIndent;
  const int y = static_cast<int>(row) * kRowHeight;
  const int middle = y + kRowHeight / 2;
  const std::optional<double> load = node.used_percent;
  const Mark mark = WorstMark(document, node);
  const int parent_x = kLeft + DepthOf(document.wiring[parent]) * kIndent + kIndent / 2;
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
  view.set("detail", View(Fit(node.kind + " · " + node.path, kLinkColumn - 50 - x)));
  view.set("speed", View(SpeedText(node.speed_mbps)));
  view.set("load_text", View(NodeLoadText(node)));
  view.set("has_load", View(load.has_value()));
  view.set("load_percent", View(load ? FormatPercent(*load) : std::string()));
  view.set("load_width", View(fmt::format("{:.1f}", std::clamp(load.value_or(0), 0.0, 100.0) / 100 *
                                                        kLoadWidth)));
  view.set("node_marked", View(mark != Mark::kNone));
  view.set("mark", View(MarkClass(mark)));
  view.set("sign", View(MarkSign(mark)));
  view.set("sign_x", View(std::to_string(kLinkColumn - 36)));
  return view;
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

Table WiringTable(const Document& document, const std::vector<std::size_t>& parents) {
  Table table{"The same wiring in words",
              {{"Device", false},
               {"Kind", false},
               {"Place", false},
               {"Hangs from", false},
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
         {node.kind},
         {node.path},
         {parents[row] == row ? std::string("the PC") : document.wiring[parents[row]].path},
         {SpeedText(node.speed_mbps)},
         {NodeLoadText(node)},
         {load ? FormatPercent(*load) : std::string(),
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
  const std::vector<std::size_t> parents = ParentRows(document.wiring);
  // Links first: boxes cover their ends.
  ViewList nodes;
  for (std::size_t row = document.wiring.size(); row-- > 0;) {
    nodes.emplace_back(NodeDrawing(document, row, parents[row]));
  }
  View view("nodes", View(nodes));
  view.set("width", View(std::to_string(kWidth)));
  view.set("height",
           View(std::to_string(static_cast<int>(document.wiring.size()) * kRowHeight + 8)));
  view.set("link_x", View(std::to_string(kLinkColumn)));
  view.set("load_x", View(std::to_string(kLinkColumn + 80)));
  view.set("share_x", View(std::to_string(kLinkColumn + 80 + kLoadWidth + 8)));
  view.set("load_text_x", View(std::to_string(kLinkColumn)));
  view.set("load_full", View(std::to_string(kLoadWidth)));
  view.set("node_count", View(Plural(static_cast<std::int64_t>(document.wiring.size()), "device")));
  view.set("table", ToView(WiringTable(document, parents)));
  view.set("found", FindingsAt(document, "wiring"));
  view.set("moves", MovesView(document));
  return view;
}

}  // namespace report
