// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/wiring.h"

#include <algorithm>
#include <map>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "report/loads/wiring.h"
#include "report/moves/text.h"
#include "report/words/cautions.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::Cell;
using show::Mark;

constexpr int kDeepest = 8;  // USB has seven tiers; a stranger's tree may claim more

int DepthOf(const WiringNode& node) {
  return std::clamp(node.depth, 0, kDeepest);
}

Mark MarkOf(Severity severity) {
  return severity == Severity::kStop   ? Mark::kStop
         : severity == Severity::kWarn ? Mark::kWarn
                                       : Mark::kNote;
}

/// The finding of that id that is about the node: two links may each have one. Of results that were
/// written before findings told what they are about, the first of that id.
std::vector<Finding>::const_iterator FindingOf(const Document& document, const std::string& id,
                                               const WiringNode& node) {
  const auto& all = document.findings;
  const auto about_it = std::find_if(all.begin(), all.end(), [&](const Finding& finding) {
    return finding.id == id && std::any_of(finding.about.begin(), finding.about.end(),
                                           [&](const Subject& of) { return of.name == node.path; });
  });
  return about_it != all.end() ? about_it
                               : std::find_if(all.begin(), all.end(), [&](const Finding& finding) {
                                   return finding.id == id;
                                 });
}

/// Titles of what was found of a node, under the mark of the worst.
Cell FoundCell(const Document& document, const WiringNode& node) {
  Cell cell;
  std::optional<Severity> worst;
  for (const std::string& id : node.finding_ids) {
    const auto found = FindingOf(document, id, node);
    const bool told = found != document.findings.end();
    cell.text += (cell.text.empty() ? "" : "; ") + (told ? found->title : id);
    if (told && (!worst || found->severity < *worst)) {
      worst = found->severity;
    }
  }
  if (worst) {
    cell.mark = MarkOf(*worst);
  }
  return cell;
}

std::string RemarkText(const WiringNode& node) {
  const std::string reserved = NodeReservedText(node);
  return node.remark + (node.remark.empty() || reserved.empty() ? "" : "; ") + reserved;
}

Cell UseCell(const WiringNode& node) {
  constexpr double kWhole = 100;
  return {node.used_percent ? FormatUsePercent(*node.used_percent) : std::string(),
          node.used_percent.value_or(0) > kWhole ? Mark::kStop : Mark::kNone};
}

/// "capture: Invented 4, 5 Gb/s, 111 MB/s of 400 MB/s, 28 % in use; Camera 2: ..."
std::string LinkText(const WiringNode& node, const std::string& moved) {
  std::string text =
      fmt::format("{}: {}", base::WordOf(node.kind), node.label.empty() ? "no name" : node.label);
  const Cell use = UseCell(node);
  const std::string used = use.text + (use.mark == Mark::kStop ? " in use: overloaded" : " in use");
  for (const std::string& part :
       {LinkSpeedText(node), NodeLoadText(node), use.text.empty() ? use.text : used, moved}) {
    text += part.empty() ? "" : ", " + part;
  }
  const std::string remark = RemarkText(node);
  return remark.empty() ? text : text + "; " + remark;
}

using MovedText = std::string (*)(const MovePlan&, const WiringNode&);

/// `moved` says of a node what `plan`, where there is one, does with it.
show::Tree LoadedTree(const std::vector<WiringNode>& nodes, const MovePlan* plan, MovedText moved) {
  show::Tree tree;
  for (const WiringNode& node : nodes) {
    if (NodeLoaded(node)) {
      tree.branches.push_back({std::max(0, DepthOf(node) - 1), node.path,
                               LinkText(node, plan == nullptr ? "" : moved(*plan, node)),
                               node.kind == NodeKind::kCapture});
    }
  }
  return tree;
}

show::Lines WhyLines(const MovePlan& plan) {
  show::Lines lines;
  for (const std::string& why : plan.why) {
    lines.lines.push_back({why});
  }
  return lines;
}

show::Facts StepFacts(const MovePlan& plan) {
  show::Facts facts;
  facts.Add("Fullest link now", FullestText(plan.worst_before, plan.percent_before));
  facts.Add("After the moves", FullestText(plan.worst_after, plan.percent_after));
  for (std::size_t at = 0; at < plan.moves.size(); ++at) {
    facts.Add(fmt::format("Step {}", at + 1), plan.moves[at].text);
  }
  for (const std::string& title : plan.mends) {
    facts.Add("Gone then", title);
  }
  return facts;
}

}  // namespace

std::string LinkSpeedText(const WiringNode& node) {
  return node.speed_mbps <= 0 ? "" : FormatLinkSpeed(node.speed_mbps);
}

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

std::string GoesText(const MovePlan& plan, const WiringNode& node) {
  const Move* move = MovedFrom(plan, node);
  return move == nullptr ? "" : "goes to " + move->new_path;
}

std::string CameText(const MovePlan& plan, const WiringNode& node) {
  const Move* move = MovedTo(plan, node);
  return move == nullptr ? "" : "came from " + move->path;
}

show::Table WiringTable(const Document& document) {
  const std::vector<std::size_t> parents = ParentRows(document.wiring);
  show::Table table{"The same wiring in words",
                    {{"Device"},
                     {"Kind"},
                     {"Place"},
                     {"Connected to"},
                     {"Link", true},
                     {"Needed of available", true},
                     {"In use", true},
                     {"Streams and reserves"},
                     {"Findings"}},
                    {}};
  for (std::size_t row = 0; row < document.wiring.size(); ++row) {
    const WiringNode& node = document.wiring[row];
    table.rows.push_back(
        {{node.label},
         {std::string(base::WordOf(node.kind))},
         {node.path},
         {parents[row] == row ? std::string("the PC") : document.wiring[parents[row]].path},
         {LinkSpeedText(node)},
         {NodeLoadText(node)},
         UseCell(node),
         {RemarkText(node)},
         FoundCell(document, node)});
  }
  return table;
}

show::Part LoadedLinksPart(const Document& document) {
  show::Part part{"Wiring", {}};
  const MovePlan* plan = document.move_plan ? &*document.move_plan : nullptr;
  show::Tree tree = LoadedTree(document.wiring, plan, GoesText);
  if (!tree.branches.empty()) {
    part.blocks.emplace_back(std::move(tree));
  }
  return part;
}

show::Part MovesPart(const Document& document) {
  show::Part part{"Move plan", {}};
  if (!document.move_plan) {
    return part;
  }
  const MovePlan& plan = *document.move_plan;
  if (!plan.moves.empty()) {
    part.blocks = {show::Note{{std::string(kCautionMoves), Mark::kWarn}}, StepFacts(plan),
                   WhyLines(plan)};
    return part;
  }
  part.blocks.emplace_back(show::Note{{NoMovesText(plan)}});
  if (!plan.worst_before.empty()) {
    show::Facts facts;
    facts.Add("Fullest link", FullestText(plan.worst_before, plan.percent_before));
    part.blocks.emplace_back(std::move(facts));
  }
  part.blocks.emplace_back(WhyLines(plan));
  return part;
}

show::Part LinksAfterPart(const Document& document) {
  show::Part part{"Wiring after the moves", {}};
  if (document.move_plan && !document.move_plan->moves.empty()) {
    const MovePlan& plan = *document.move_plan;
    part.blocks.emplace_back(LoadedTree(plan.wiring, &plan, CameText));
  }
  return part;
}

}  // namespace report
