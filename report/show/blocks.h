// SPDX-License-Identifier: Apache-2.0
//
// What people read, as data: facts, tables and texts. Each subject builds them once (show/rows),
// and the terminal, the report page and the local page only lay them out.

#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "base/reading.h"

namespace report::show {

/// How something stands, as a sign beside a word: never by colour alone.
enum class Mark { kNone, kGood, kWarn, kStop, kUnknown, kNote };

/// Where something is shown: `kDetails` on a terminal only in the long form; `kPage` on pages,
/// which always have room.
enum class When { kAlways, kDetails, kPage };

/// One cell of a table, or one line; the words carry the meaning, the mark underlines it.
struct Cell {
  std::string text;
  Mark mark = Mark::kNone;
  std::string link{};  // "#anchor" on a page, or empty
};

struct Column {
  std::string name;
  bool number = false;  // set to the right, figures of one width
  bool wide = false;    // sentences: not squeezed by its neighbours, wrapped on a terminal
  int least = 8;        // columns that a terminal leaves to a text
  When when = When::kAlways;
};

/// Rows of one cell per column; the first cell of a row is its heading. Nothing is shown of a
/// table without rows.
struct Table {
  std::string caption;
  std::vector<Column> columns;
  std::vector<std::vector<Cell>> rows;
  std::vector<std::string> below{};  // the rest of a row's name; may be shorter than rows
  std::size_t first = SIZE_MAX;      // rows that a terminal has room for
  When when = When::kAlways;
};

struct Fact {
  std::string name;
  std::string text;
  bool unknown = false;
  When when = When::kAlways;
};

/// Names and values.
class Facts {
 public:
  void Add(std::string name, std::string value, When when = When::kAlways);
  /// "unknown: reason".
  void AddUnknown(std::string name, const std::string& reason, When when = When::kAlways);
  /// A reading as `format` writes its value, or "unknown: reason".
  template <typename T, typename Format>
  void Add(std::string name, const base::Reading<T>& reading, Format format,
           When when = When::kAlways) {
    if (reading) {
      Add(std::move(name), std::string(format(*reading)), when);
    } else {
      AddUnknown(std::move(name), reading.why_unknown(), when);
    }
  }
  void Add(std::string name, const base::Reading<std::string>& reading, When when = When::kAlways);
  /// Goes on with the fact before, in the long form; nothing where the text is empty.
  void AddMore(const std::string& text);

  const std::vector<Fact>& all() const { return facts_; }
  bool empty() const { return facts_.empty(); }

 private:
  std::vector<Fact> facts_;
};

/// A text of its own.
struct Note {
  Cell text;
  When when = When::kAlways;
};

/// Texts one below the other, each with a dash before it.
struct Lines {
  std::vector<Cell> lines;
  std::size_t first = SIZE_MAX;  // that a terminal has room for
  When when = When::kAlways;
  Cell name{};  // what they are, above them; may be empty
};

/// What hangs below what: each branch stands below the last one before it that is less deep.
struct Branch {
  int depth = 0;  // 0: a root
  std::string name;
  std::string text;
  bool strong = false;
  std::string more{};  // goes on with the text on pages and in the long form
};
struct Tree {
  std::vector<Branch> branches;
  When when = When::kAlways;
};

/// A heading below that of the part.
struct Subtitle {
  std::string text;
  When when = When::kAlways;
};

using Block = std::variant<Subtitle, Note, Facts, Table, Tree, Lines>;

/// A subject: its title with what is shown below it. One without blocks is not shown.
struct Part {
  std::string title;
  std::vector<Block> blocks;

  bool empty() const { return blocks.empty(); }
};

/// A list by itself; empty where there are no texts.
Part ListPart(std::string title, const std::vector<std::string>& texts);

/// Each text as a cell.
std::vector<Cell> CellsOf(const std::vector<std::string>& texts);

/// An answer by itself: its verdict, the sentence that says it, and what it rests on.
struct Sheet {
  std::string name;  // of a page
  Cell verdict;      // empty: the headline says all
  std::string headline;
  std::vector<Part> parts;
};

/// CSS class: "good", "warn" ...
std::string MarkClass(Mark mark);
/// One character; none for kNone.
std::string MarkSign(Mark mark);

/// A reading as a cell: the value as `format` writes it, or "unknown: reason".
template <typename T, typename Format>
Cell ReadingCell(const base::Reading<T>& reading, Format format) {
  if (reading) {
    return {std::string(format(*reading))};
  }
  return {"unknown: " + reading.why_unknown(), Mark::kUnknown};
}

/// For a cell with nothing to say.
inline std::string OrDash(const std::string& text) {
  return text.empty() ? "-" : text;
}

}  // namespace report::show
