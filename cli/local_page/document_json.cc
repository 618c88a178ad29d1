// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/document_json.h"

#include <string>
#include <utility>
#include <variant>

#include "report/assess/first_repair.h"
#include "report/fields/words.h"
#include "report/show/rows/headroom.h"
#include "report/show/rows/machine.h"
#include "report/show/rows/sizing.h"
#include "report/words/figures.h"
#include "report/words/quantities.h"

namespace cli {
namespace {

using report::stored::WordOf;

Json HeadroomJson(const report::Headroom& row) {
  return {{"resource", WordOf(row.resource)},
          {"item", row.item},
          {"asked", report::NeededText(row, row.unit)},
          {"there_is", report::AvailableText(row, row.unit)},
          {"spare", row.headroom_percent
                        ? report::FormatSpare(*row.headroom_percent, row.margin_percent, row.demand,
                                              row.capacity.value_or(0), row.unit)
                        : "not known"},
          {"keep", report::FormatMarginPercent(row.margin_percent)},
          {"standing", report::StandingOf(row).text},
          {"to_prove", row.how_to_prove}};
}

Json FindingJson(const report::Finding& finding) {
  return {{"severity", WordOf(finding.severity)},
          {"title", finding.title},
          {"evidence", finding.evidence},
          {"action", finding.action}};
}

using report::show::Cell;

/// What is said, with its sign: the same as on the report page.
Json CellJson(const Cell& cell) {
  return {{"text", cell.text},
          {"mark", cell.mark == report::show::Mark::kNone ? "" : MarkClass(cell.mark)},
          {"sign", MarkSign(cell.mark)}};
}

Json CellsJson(const std::vector<Cell>& cells) {
  Json list = Json::array();
  for (const Cell& cell : cells) {
    list.push_back(CellJson(cell));
  }
  return list;
}

/// A block under the name of its kind.
struct BlockJson {
  Json operator()(const report::show::Subtitle& title) const { return {{"subtitle", title.text}}; }
  Json operator()(const report::show::Note& note) const { return {{"note", CellJson(note.text)}}; }
  Json operator()(const report::show::Facts& facts) const {
    Json list = Json::array();
    for (const report::show::Fact& fact : facts.all()) {
      list.push_back({{"name", fact.name}, {"text", fact.text}});
    }
    return {{"facts", std::move(list)}};
  }
  Json operator()(const report::show::Table& table) const {
    Json columns = Json::array();
    for (const report::show::Column& column : table.columns) {
      columns.push_back(column.name);
    }
    Json rows = Json::array();
    for (std::size_t at = 0; at < table.rows.size(); ++at) {
      Json cells = CellsJson(table.rows[at]);
      cells.front()["rest"] = at < table.below.size() ? table.below[at] : "";
      rows.push_back(std::move(cells));
    }
    return {{"caption", table.caption}, {"columns", std::move(columns)}, {"rows", std::move(rows)}};
  }
  Json operator()(const report::show::Tree& tree) const {
    Json list = Json::array();
    for (const report::show::Branch& branch : tree.branches) {
      list.push_back({{"name", branch.name}, {"text", branch.text + branch.more}});
    }
    return {{"facts", std::move(list)}};
  }
  Json operator()(const report::show::Lines& lines) const {
    return {{"name", CellJson(lines.name)}, {"lines", CellsJson(lines.lines)}};
  }
};

Json PartJson(const report::show::Part& part) {
  Json blocks = Json::array();
  for (const report::show::Block& block : part.blocks) {
    blocks.push_back(std::visit(BlockJson{}, block));
  }
  return {{"title", part.title}, {"blocks", std::move(blocks)}};
}

template <typename Row>
Json ListOf(const std::vector<Row>& rows, Json (*to_json)(const Row&)) {
  Json list = Json::array();
  for (const Row& row : rows) {
    list.push_back(to_json(row));
  }
  return list;
}

}  // namespace

Json DocumentJson(const report::Document& document) {
  const report::Finding* const first = report::FirstRepair(document);
  return {{"verdict", WordOf(document.verdict)},
          {"headline", document.first_limit},
          {"fix_first", first == nullptr ? Json() : FindingJson(*first)},
          {"headroom", ListOf(document.headroom, HeadroomJson)},
          {"findings", ListOf(document.findings, FindingJson)},
          {"machine", ListOf(report::MachineInShort(document.evidence.inventory), PartJson)}};
}

Json SizingAnswerJson(const report::Sizing& sizing) {
  const report::show::Sheet sheet = report::SheetOf(sizing);
  Json parts = Json::array();
  for (const report::show::Part& part : sheet.parts) {
    if (!part.empty()) {
      parts.push_back(PartJson(part));
    }
  }
  return {{"verdict", WordOf(sizing.verdict)},
          {"headline", sheet.headline},
          {"parts", std::move(parts)}};
}

}  // namespace cli
