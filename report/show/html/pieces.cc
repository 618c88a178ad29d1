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

std::string MarkClass(Mark mark) {
  switch (mark) {
    case Mark::kGood:
      return "good";
    case Mark::kWarn:
      return "warn";
    case Mark::kStop:
      return "stop";
    case Mark::kUnknown:
      return "unknown";
    case Mark::kNote:
      return "note";
    case Mark::kNone:
      break;
  }
  return "plain";
}

std::string MarkSign(Mark mark) {
  switch (mark) {
    case Mark::kGood:
      return "✓";
    case Mark::kWarn:
      return "▲";
    case Mark::kStop:
      return "✕";
    case Mark::kUnknown:
      return "?";
    case Mark::kNote:
      return "○";
    case Mark::kNone:
      break;
  }
  return "";
}

View ToView(const Table& table) {
  if (table.rows.empty()) {
    return View(false);
  }
  ViewList columns;
  for (const Column& column : table.columns) {
    View view("name", View(column.name));
    view.set("number", View(column.number));
    view.set("wide", View(column.wide));
    columns.emplace_back(view);
  }
  ViewList rows;
  for (const std::vector<Cell>& row : table.rows) {
    ViewList cells;
    for (std::size_t index = 0; index < row.size(); ++index) {
      View view("text", View(row[index].text));
      view.set("head", View(index == 0));
      view.set("number", View(index < table.columns.size() && table.columns[index].number));
      view.set("marked", View(row[index].mark != Mark::kNone));
      view.set("mark", View(MarkClass(row[index].mark)));
      view.set("sign", View(MarkSign(row[index].mark)));
      view.set("linked", View(!row[index].link.empty()));
      view.set("link", View(row[index].link));
      cells.emplace_back(view);
    }
    rows.emplace_back(View("cells", View(cells)));
  }
  View view("caption", View(table.caption));
  view.set("columns", View(columns));
  view.set("rows", View(rows));
  return view;
}

void FactList::Add(std::string name, std::string value) {
  facts_.push_back({std::move(name), std::move(value), false});
}

void FactList::AddUnknown(std::string name, const std::string& reason) {
  facts_.push_back({std::move(name), "unknown: " + reason, true});
}

void FactList::Add(std::string name, const base::Reading<std::string>& reading) {
  Add(std::move(name), reading, [](const std::string& text) { return text; });
}

View FactList::ToView() const {
  if (facts_.empty()) {
    return View(false);
  }
  ViewList list;
  for (const Fact& fact : facts_) {
    View view("fact_name", View(fact.name));
    view.set("fact_value", View(fact.value));
    view.set("fact_unknown", View(fact.unknown));
    list.emplace_back(view);
  }
  return View("facts", View(list));
}

Cell ReadingCell(const base::Reading<std::string>& reading) {
  return ReadingCell(reading, [](const std::string& text) { return text; });
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
