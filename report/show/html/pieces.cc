// SPDX-License-Identifier: Apache-2.0
//
// The pieces that the report page is laid out from: text, fact lists, tables.

#include "report/show/html/pieces.h"

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "base/text.h"

namespace report {

namespace {

constexpr std::size_t kLongestText = 4000;

View MarkedView(const show::Cell& cell) {
  View view("text", View(cell.text));
  view.set("marked", View(cell.mark != Mark::kNone));
  view.set("mark", View(MarkClass(cell.mark)));
  view.set("sign", View(MarkSign(cell.mark)));
  view.set("linked", View(!cell.link.empty()));
  view.set("link", View(cell.link));
  return view;
}

/// A block under the name of its kind; the others are false, so that none is looked up outside.
struct BlockView {
  View operator()(const show::Subtitle& title) const { return Of("subtitle", View(title.text)); }
  View operator()(const show::Note& note) const { return Of("note", MarkedView(note.text)); }
  View operator()(const show::Facts& facts) const { return Of("fact_list", ToView(facts)); }
  View operator()(const show::Table& table) const { return Of("table", ToView(table)); }
  View operator()(const show::Tree& tree) const {
    ViewList list;
    for (const show::Branch& branch : tree.branches) {
      View view("level", View(std::to_string(branch.depth + 1)));
      view.set("name", View(branch.name));
      view.set("text", View(branch.text + branch.more));
      list.emplace_back(view);
    }
    return Of("tree_lines", SectionOf("branches", list));
  }
  View operator()(const show::Lines& lines) const {
    ViewList list;
    for (const show::Cell& line : lines.lines) {
      list.emplace_back(MarkedView(line));
    }
    View view("list", SectionOf("entries", list));
    view.set("name", lines.name.text.empty() ? View(false) : MarkedView(lines.name));
    return Of("lines", view);
  }

 private:
  static View Of(const std::string& kind, const View& shown) {
    View view;
    for (const char* other : {"subtitle", "note", "fact_list", "table", "tree_lines", "lines"}) {
      view.set(other, kind == other ? shown : View(false));
    }
    return view;
  }
};

}  // namespace

std::string EscapeForPage(const std::string& text) {
  return kainjow::mustache::html_escape(base::Printable(text, kLongestText));
}

std::string ForScriptElement(const nlohmann::ordered_json& json) {
  using Json = nlohmann::ordered_json;
  const std::string text = json.dump(-1, ' ', true, Json::error_handler_t::replace);
  std::string safe;
  safe.reserve(text.size());
  for (const char letter : text) {
    if (letter == '<' || letter == '>' || letter == '&') {
      safe += fmt::format("\\u{:04x}", static_cast<unsigned>(letter));
    } else {
      safe += letter;
    }
  }
  return safe;
}

std::string AnchorOf(const std::string& id) {
  std::string anchor = "finding-";
  for (const char letter : id.substr(0, 80)) {
    const bool plain = (letter >= 'a' && letter <= 'z') || (letter >= 'A' && letter <= 'Z') ||
                       (letter >= '0' && letter <= '9');
    anchor += plain ? letter : '-';
  }
  return anchor;
}

View ToView(const Table& table) {
  if (table.rows.empty()) {
    return View(false);
  }
  ViewList columns;
  for (const show::Column& column : table.columns) {
    View view("name", View(column.name));
    view.set("number", View(column.number));
    view.set("wide", View(column.wide));
    columns.emplace_back(view);
  }
  ViewList rows;
  for (std::size_t at = 0; at < table.rows.size(); ++at) {
    const std::vector<Cell>& row = table.rows[at];
    ViewList cells;
    for (std::size_t index = 0; index < row.size(); ++index) {
      View view = MarkedView(row[index]);
      view.set("head", View(index == 0));
      const bool more = index == 0 && at < table.below.size() && !table.below[at].empty();
      view.set("rest", more ? View(table.below[at]) : View(false));
      view.set("number", View(index < table.columns.size() && table.columns[index].number));
      cells.emplace_back(view);
    }
    rows.emplace_back(View("cells", View(cells)));
  }
  View view("caption", View(table.caption));
  view.set("columns", View(columns));
  view.set("rows", View(rows));
  return view;
}

View ToView(const show::Facts& facts) {
  if (facts.empty()) {
    return View(false);
  }
  // Values without a name go on with the one before.
  std::vector<show::Fact> named;
  for (const show::Fact& fact : facts.all()) {
    if (fact.name.empty() && !named.empty()) {
      named.back().text += "; " + fact.text;
    } else {
      named.push_back(fact);
    }
  }
  ViewList list;
  for (const show::Fact& fact : named) {
    View view("fact_name", View(fact.name));
    view.set("fact_value", View(fact.text));
    view.set("fact_unknown", View(fact.unknown));
    list.emplace_back(view);
  }
  return View("facts", View(list));
}

View ToView(const show::Part& part) {
  if (part.empty()) {
    return View(false);
  }
  ViewList blocks;
  for (const show::Block& block : part.blocks) {
    blocks.emplace_back(std::visit(BlockView{}, block));
  }
  View view("part_title", View(part.title));
  view.set("blocks", View(blocks));
  return view;
}

View ToView(const std::vector<std::string>& lines) {
  if (lines.empty()) {
    return View(false);
  }
  ViewList list;
  for (const std::string& line : lines) {
    list.emplace_back(View(line));
  }
  return View(list);
}

View SectionOf(const std::string& name, const ViewList& list) {
  if (list.empty()) {
    return View(false);
  }
  return View(name, View(list));
}

}  // namespace report
