// SPDX-License-Identifier: Apache-2.0

#include "report/show/terminal/blocks.h"

#include <algorithm>
#include <variant>

#include "report/show/terminal/table.h"

namespace report {
namespace {

constexpr int kIndent = 2;

bool Shown(show::When when, bool details) {
  return details || when == show::When::kAlways;
}

bool Shown(const show::Facts& facts, bool details) {
  return std::any_of(facts.all().begin(), facts.all().end(),
                     [&](const show::Fact& fact) { return Shown(fact.when, details); });
}

bool Shown(const show::Block& block, bool details) {
  if (const auto* facts = std::get_if<show::Facts>(&block)) {
    return Shown(*facts, details);
  }
  if (const auto* table = std::get_if<show::Table>(&block)) {
    return !table->rows.empty() && Shown(table->when, details);
  }
  if (const auto* lines = std::get_if<show::Lines>(&block)) {
    return !lines->lines.empty() && Shown(lines->when, details);
  }
  if (const auto* note = std::get_if<show::Note>(&block)) {
    return Shown(note->when, details);
  }
  return Shown(std::get<show::Subtitle>(block).when, details);
}

/// Puts one block that is shown.
struct Putter {
  TerminalPage& page;

  void operator()(const show::Subtitle& title) const {
    page.Blank();
    page.Paragraph(kIndent, {title.text, Tone::kStrong});
  }
  void operator()(const show::Note& note) const {
    page.Paragraph(kIndent, {note.text.text, ToneOf(note.text.mark)});
  }
  void operator()(const show::Facts& facts) const {
    for (const show::Fact& fact : facts.all()) {
      if (Shown(fact.when, page.details())) {
        page.Fact(fact.name, {fact.text, fact.unknown ? Tone::kDim : Tone::kPlain});
      }
    }
  }
  void operator()(const show::Table& table) const { PutTable(page, kIndent, table); }
  void operator()(const show::Lines& lines) const {
    for (const show::Cell& line : lines.lines) {
      page.Beside(kIndent, {"-", Tone::kDim}, 2, {line.text, ToneOf(line.mark)});
    }
  }
};

}  // namespace

Tone ToneOf(show::Mark mark) {
  switch (mark) {
    case show::Mark::kGood:
      return Tone::kGood;
    case show::Mark::kWarn:
    case show::Mark::kUnknown:
      return Tone::kWarn;
    case show::Mark::kStop:
      return Tone::kStop;
    case show::Mark::kNote:
      return Tone::kDim;
    case show::Mark::kNone:
      break;
  }
  return Tone::kPlain;
}

void PutTable(TerminalPage& page, int indent, const show::Table& table) {
  TerminalTable shown;
  for (const show::Column& column : table.columns) {
    if (Shown(column.when, page.details())) {
      shown.columns.push_back({column.name, column.number, column.least});
    }
  }
  for (const std::vector<show::Cell>& row : table.rows) {
    std::vector<Piece> pieces;
    for (std::size_t at = 0; at < row.size(); ++at) {
      if (Shown(table.columns[at].when, page.details())) {
        pieces.push_back({row[at].text, ToneOf(row[at].mark)});
      }
    }
    shown.rows.push_back(std::move(pieces));
  }
  shown.below = table.below;
  PutTable(page, indent, shown);
}

void PutPart(TerminalPage& page, const show::Part& part) {
  const bool details = page.details();
  const auto shown = [details](const show::Block& block) { return Shown(block, details); };
  if (std::none_of(part.blocks.begin(), part.blocks.end(), shown)) {
    return;
  }
  page.Heading(part.title);
  for (const show::Block& block : part.blocks) {
    if (shown(block)) {
      std::visit(Putter{page}, block);
    }
  }
}

}  // namespace report
