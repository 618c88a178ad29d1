// SPDX-License-Identifier: Apache-2.0

#include "report/show/terminal/blocks.h"

#include <algorithm>
#include <cctype>
#include <variant>

#include <fmt/format.h>

#include "report/show/terminal/table.h"

namespace report {
namespace {

constexpr int kIndent = 2;

bool Shown(show::When when, bool details) {
  return when == show::When::kAlways || (details && when == show::When::kDetails);
}

/// Whether a terminal shows something of a block.
struct IsShown {
  bool details;

  bool operator()(const show::Subtitle& title) const { return Shown(title.when, details); }
  bool operator()(const show::Note& note) const { return Shown(note.when, details); }
  bool operator()(const show::Facts& facts) const {
    return std::any_of(facts.all().begin(), facts.all().end(),
                       [&](const show::Fact& fact) { return Shown(fact.when, details); });
  }
  bool operator()(const show::Table& table) const {
    return !table.rows.empty() && Shown(table.when, details);
  }
  bool operator()(const show::Tree& tree) const {
    return !tree.branches.empty() && Shown(tree.when, details);
  }
  bool operator()(const show::Lines& lines) const {
    return (!lines.lines.empty() || !lines.name.text.empty()) && Shown(lines.when, details);
  }
};

void PutMore(TerminalPage& page, std::size_t all, std::size_t first, const char* where) {
  if (all > first) {
    page.Paragraph(kIndent, {fmt::format("and {} more {}", all - first, where), Tone::kDim});
  }
}

/// Puts one block that is shown.
struct Putter {
  TerminalPage& page;
  const char* more;

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
        page.Fact(fact.name, Piece{fact.text, fact.unknown ? Tone::kDim : Tone::kPlain});
      }
    }
  }
  void operator()(const show::Table& table) const { PutTable(page, kIndent, table, more); }
  void operator()(const show::Tree& tree) const {
    constexpr int kLeast = 8;
    constexpr int kMost = 20;
    for (const show::Branch& branch : tree.branches) {
      const int lead =
          branch.name.empty() ? 0 : std::clamp(DisplayWidth(branch.name) + 1, kLeast, kMost);
      page.Beside(kIndent * (branch.depth + 1), {branch.name}, lead,
                  {page.details() ? branch.text + branch.more : branch.text,
                   branch.strong ? Tone::kStrong : Tone::kPlain});
    }
  }
  void operator()(const show::Lines& lines) const {
    if (!lines.name.text.empty()) {
      const Tone tone = ToneOf(lines.name.mark);
      page.Paragraph(kIndent, {lines.name.text, tone == Tone::kPlain ? Tone::kStrong : tone});
    }
    for (std::size_t at = 0; at < std::min(lines.lines.size(), lines.first); ++at) {
      const show::Cell& line = lines.lines[at];
      page.Beside(kIndent, {"-", Tone::kDim}, 2, {line.text, ToneOf(line.mark)});
    }
    PutMore(page, lines.lines.size(), lines.first, more);
  }
};

/// Sentences are wrapped below the name of their row, each beside its column's.
void PutSentences(TerminalPage& page, int indent, const TerminalTable& table) {
  constexpr int kNameColumns = 16;
  for (std::size_t at = 0; at < table.rows.size(); ++at) {
    const std::vector<Piece>& row = table.rows[at];
    page.Paragraph(indent, {row.front().text, Tone::kStrong});
    for (std::size_t i = 1; i < row.size(); ++i) {
      if (!row[i].text.empty()) {
        page.Beside(indent + 2, {table.columns[i].name, Tone::kDim},
                    std::min(kNameColumns, page.columns() / 3), row[i]);
      }
    }
  }
}

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

Piece VerdictPiece(const show::Cell& verdict) {
  Piece piece{verdict.text, ToneOf(verdict.mark)};
  std::transform(piece.text.begin(), piece.text.end(), piece.text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  return piece;
}

void PutTable(TerminalPage& page, int indent, const show::Table& table, const char* more) {
  TerminalTable shown;
  bool sentences = false;
  for (const show::Column& column : table.columns) {
    if (Shown(column.when, page.details())) {
      shown.columns.push_back({column.name, column.number, column.least});
      sentences = sentences || column.wide;
    }
  }
  for (std::size_t at = 0; at < std::min(table.rows.size(), table.first); ++at) {
    std::vector<Piece> pieces;
    for (std::size_t i = 0; i < table.rows[at].size(); ++i) {
      if (Shown(table.columns[i].when, page.details())) {
        pieces.push_back({table.rows[at][i].text, ToneOf(table.rows[at][i].mark)});
      }
    }
    shown.rows.push_back(std::move(pieces));
  }
  shown.below = table.below;
  if (sentences) {
    PutSentences(page, indent, shown);
  } else {
    PutTable(page, indent, shown);
  }
  PutMore(page, table.rows.size(), table.first, more);
}

void PutPart(TerminalPage& page, const show::Part& part, const char* more) {
  const auto shown = [&page](const show::Block& block) {
    return std::visit(IsShown{page.details()}, block);
  };
  if (std::none_of(part.blocks.begin(), part.blocks.end(), shown)) {
    return;
  }
  page.Heading(part.title);
  for (const show::Block& block : part.blocks) {
    if (shown(block)) {
      std::visit(Putter{page, more}, block);
    }
  }
}

std::string WriteSheets(const std::vector<show::Sheet>& sheets, const TerminalStyle& style) {
  TerminalPage page(style);
  for (const show::Sheet& sheet : sheets) {
    page.Blank();
    const Piece verdict = VerdictPiece(sheet.verdict);
    const int width = DisplayWidth(verdict.text);
    page.Beside(0, verdict, width == 0 ? 0 : width + 2, {sheet.headline, Tone::kStrong});
    for (const show::Part& part : sheet.parts) {
      PutPart(page, part, "with --json");
    }
  }
  return page.text();
}

}  // namespace report
