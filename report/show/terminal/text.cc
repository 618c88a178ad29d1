// SPDX-License-Identifier: Apache-2.0

#include "report/show/terminal/text.h"

#include <utf8proc.h>

#include <algorithm>
#include <cstddef>
#include <utility>

#include "base/text.h"

namespace report {
namespace {

constexpr int kLeastColumns = 24;
constexpr int kMostColumns = 200;
/// Running text gets hard to read when its lines are longer.
constexpr int kMostProseColumns = 100;
constexpr int kFactColumns = 18;
constexpr std::size_t kMostTextBytes = 4000;

struct Glyph {
  std::string_view bytes;
  int columns = 0;
};

/// The next code point of `text` and the columns that it takes.
Glyph FirstGlyph(std::string_view text) {
  utf8proc_int32_t code = 0;
  const auto* bytes = reinterpret_cast<const utf8proc_uint8_t*>(text.data());
  const utf8proc_ssize_t length =
      utf8proc_iterate(bytes, static_cast<utf8proc_ssize_t>(text.size()), &code);
  if (length <= 0) {
    return {text.substr(0, 1), 1};
  }
  return {text.substr(0, static_cast<std::size_t>(length)), utf8proc_charwidth(code)};
}

/// As much of `text` as fits into `columns`, whole characters only.
std::string_view Fitting(std::string_view text, int columns) {
  std::size_t taken = 0;
  while (taken < text.size()) {
    const Glyph glyph = FirstGlyph(text.substr(taken));
    if (glyph.columns > columns) {
      break;
    }
    columns -= glyph.columns;
    taken += glyph.bytes.size();
  }
  return text.substr(0, taken);
}

/// Select Graphic Rendition codes, ECMA-48 8.3.117.
const char* CodeOf(Tone tone) {
  switch (tone) {
    case Tone::kPlain:
      return "";
    case Tone::kStrong:
      return "\x1b[1m";
    case Tone::kGood:
      return "\x1b[1;32m";
    case Tone::kWarn:
      return "\x1b[1;33m";
    case Tone::kStop:
      return "\x1b[1;31m";
    case Tone::kDim:
      return "\x1b[2m";
  }
  return "";
}

}  // namespace

int DisplayWidth(std::string_view text) {
  int columns = 0;
  while (!text.empty()) {
    const Glyph glyph = FirstGlyph(text);
    columns += glyph.columns;
    text.remove_prefix(glyph.bytes.size());
  }
  return columns;
}

std::string CutToWidth(std::string_view text, int columns) {
  std::string printable = base::Printable(text, kMostTextBytes);
  if (DisplayWidth(printable) <= columns) {
    return printable;
  }
  constexpr std::string_view kCut = "...";
  const int kept = std::max(0, columns - static_cast<int>(kCut.size()));
  return std::string(Fitting(printable, kept)) +
         std::string(kCut.substr(0, static_cast<std::size_t>(std::clamp(columns, 0, 3))));
}

std::string PadLeft(std::string text, int columns) {
  const int missing = columns - DisplayWidth(text);
  return std::string(static_cast<std::size_t>(std::max(0, missing)), ' ') + std::move(text);
}

std::string PadRight(std::string text, int columns) {
  const int missing = columns - DisplayWidth(text);
  text.append(static_cast<std::size_t>(std::max(0, missing)), ' ');
  return text;
}

std::vector<std::string> WrapText(std::string_view text, int columns) {
  columns = std::max(columns, 4);
  const std::string printable = base::Printable(text, kMostTextBytes);
  std::vector<std::string> lines;
  std::string line;
  for (std::string_view word : base::SplitWords(printable)) {
    const int used = DisplayWidth(line);
    if (!line.empty() && used + 1 + DisplayWidth(word) > columns) {
      lines.push_back(std::exchange(line, {}));
    }
    while (DisplayWidth(word) > columns) {  // only ever at the start of a line
      const std::string_view part = Fitting(word, columns);
      lines.emplace_back(part);
      word.remove_prefix(part.size());
    }
    line += line.empty() ? "" : " ";
    line += word;
  }
  if (!line.empty() || lines.empty()) {
    lines.push_back(line);
  }
  return lines;
}

TerminalPage::TerminalPage(const TerminalStyle& style)
    : colour_(style.colour),
      columns_(std::clamp(style.columns, kLeastColumns, kMostColumns)),
      details_(style.details) {}

std::string TerminalPage::Painted(const Piece& piece) const {
  std::string text = base::Printable(piece.text, kMostTextBytes);
  const std::size_t first = text.find_first_not_of(' ');
  if (!colour_ || piece.tone == Tone::kPlain || first == std::string::npos) {
    return text;
  }
  // Padding stays outside, so that the end of a line can be trimmed.
  text.insert(text.find_last_not_of(' ') + 1, "\x1b[0m");
  return text.insert(first, CodeOf(piece.tone));
}

void TerminalPage::Blank() {
  if (!text_.empty() && !text_.ends_with("\n\n")) {
    text_ += "\n";
  }
}

void TerminalPage::Heading(std::string_view text) {
  Blank();
  for (const std::string& line : WrapText(text, columns_)) {
    Line(0, {{line, Tone::kStrong}});
  }
}

void TerminalPage::Line(int indent, const std::vector<Piece>& pieces) {
  std::string line(static_cast<std::size_t>(indent), ' ');
  for (const Piece& piece : pieces) {
    line += Painted(piece);
  }
  const std::size_t end = line.find_last_not_of(' ');
  line.resize(end == std::string::npos ? 0 : end + 1);
  text_ += line + "\n";
}

void TerminalPage::Beside(int indent, const Piece& lead, int lead_columns, const Piece& text) {
  const int room = std::min(columns_, kMostProseColumns) - indent - lead_columns;
  std::string first = PadRight(CutToWidth(lead.text, lead_columns), lead_columns);
  for (const std::string& line : WrapText(text.text, room)) {
    Line(indent, {{std::exchange(first, std::string(static_cast<std::size_t>(lead_columns), ' ')),
                   lead.tone},
                  {line, text.tone}});
  }
}

void TerminalPage::Fact(std::string_view name, const Piece& value) {
  Beside(2, {std::string(name), Tone::kPlain}, std::min(kFactColumns, columns_ / 3), value);
}

}  // namespace report
