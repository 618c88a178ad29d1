// SPDX-License-Identifier: Apache-2.0
//
// The pieces that the report page is laid out from: text, fact lists, tables.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <kainjow/mustache.hpp>
#include <nlohmann/json_fwd.hpp>

#include "base/reading.h"
#include "report/data/document.h"
#include "report/words/quantities.h"

namespace report {

/// What a template is filled with. Every string in it is a stranger's until
/// EscapeForPage has seen it, which rendering does for each value.
using View = kainjow::mustache::data;
using ViewList = kainjow::mustache::list;

/// Controls, overrides and broken UTF-8 made visible, markup made text.
std::string EscapeForPage(const std::string& text);

/// JSON text that no parser of HTML can take for anything else.
std::string ForScriptElement(const nlohmann::ordered_json& json);

/// For a cell with nothing to say.
inline std::string OrDash(const std::string& text) {
  return text.empty() ? "-" : text;
}

/// Letters, digits and hyphens of `id`, for an HTML anchor; "finding-..." so
/// that no stranger's id can take the name of a section.
std::string AnchorOf(const std::string& id);

/// How something stands, as a mark beside a word: never by colour alone.
enum class Mark { kNone, kGood, kWarn, kStop, kUnknown, kNote };
std::string MarkClass(Mark mark);  // CSS class: "good", "warn" ...
std::string MarkSign(Mark mark);   // one character

/// One cell of a table; the words carry the meaning, the mark underlines it.
struct Cell {
  std::string text;
  Mark mark = Mark::kNone;
  std::string link{};  // "#anchor" made by AnchorOf, or empty
};

struct Column {
  std::string name;
  bool number = false;  // set to the right, figures of one width
  bool wide = false;    // sentences: not squeezed by its neighbours
};

struct Table {
  std::string caption;
  std::vector<Column> columns;
  std::vector<std::vector<Cell>> rows;  // the first cell of a row is its heading
};

/// For the partial "table"; false (nothing shown) when it has no rows.
View ToView(const Table& table);

/// Names and values, for the partial "facts".
class FactList {
 public:
  void Add(std::string name, std::string value);
  void AddUnknown(std::string name, const std::string& reason);
  /// A reading as `format` writes its value, or "unknown: reason".
  template <typename T, typename Format>
  void Add(std::string name, const base::Reading<T>& reading, Format format) {
    if (reading) {
      Add(std::move(name), format(*reading));
    } else {
      AddUnknown(std::move(name), reading.why_unknown());
    }
  }
  void Add(std::string name, const base::Reading<std::string>& reading);
  View ToView() const;

 private:
  struct Fact {
    std::string name;
    std::string value;
    bool unknown = false;
  };
  std::vector<Fact> facts_;
};

/// A reading as a cell: the value as `format` writes it, or "unknown: reason".
template <typename T, typename Format>
Cell ReadingCell(const base::Reading<T>& reading, Format format) {
  if (reading) {
    return {format(*reading)};
  }
  return {"unknown: " + reading.why_unknown(), Mark::kUnknown};
}
Cell ReadingCell(const base::Reading<std::string>& reading);

/// Each string as an entry of a list, for {{#name}}{{.}}{{/name}}; false when empty.
View ToView(const std::vector<std::string>& lines);
/// A part of the page that shows `list` under `name`; false when there is nothing to show.
View SectionOf(const std::string& name, const ViewList& list);

}  // namespace report
