// SPDX-License-Identifier: Apache-2.0
//
// Text for a terminal: display width, wrapping, and a page that takes no escape codes from outside.

#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "report/data/writers.h"

namespace report {

/// How a piece of text is shown; its words must say the same without colour.
enum class Tone { kPlain, kStrong, kGood, kWarn, kStop, kDim };

/// A piece of one line. What is not printable in it is made visible when shown.
struct Piece {
  std::string text;
  Tone tone = Tone::kPlain;
};

/// Columns that printable UTF-8 takes: wide characters two, combining marks none.
int DisplayWidth(std::string_view text);

/// `text` made printable and cut to `columns`, ending in "..." when it was longer.
std::string CutToWidth(std::string_view text, int columns);

/// Padded with spaces to `columns`; as it is when it is wider.
std::string PadLeft(std::string text, int columns);
std::string PadRight(std::string text, int columns);

/// `text` made printable, in lines of at most `columns` broken between words;
/// a word that is longer by itself is broken inside. Never empty.
std::vector<std::string> WrapText(std::string_view text, int columns);

/// Collects lines in one style.
class TerminalPage {
 public:
  explicit TerminalPage(const TerminalStyle& style);

  /// Columns of a line, kept within sensible bounds.
  int columns() const { return columns_; }
  /// Whether the long form is asked for.
  bool details() const { return details_; }

  /// An empty line; never two in a row, never the first.
  void Blank();
  /// A blank line, then `text` as the title of a section.
  void Heading(std::string_view text);
  /// One line of pieces side by side; the caller has seen to its width.
  void Line(int indent, const std::vector<Piece>& pieces);
  /// `lead` padded to `lead_columns`, then `text` wrapped beside it.
  void Beside(int indent, const Piece& lead, int lead_columns, const Piece& text);
  /// `text` wrapped.
  void Paragraph(int indent, const Piece& text) { Beside(indent, {}, 0, text); }

  /// "name      value".
  void Fact(std::string_view name, const Piece& value);

  const std::string& text() const { return text_; }

 private:
  std::string Painted(const Piece& piece) const;

  bool colour_;
  int columns_;
  bool details_;
  std::string text_;
};

}  // namespace report
