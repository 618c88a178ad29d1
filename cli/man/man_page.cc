// SPDX-License-Identifier: Apache-2.0

#include "cli/man/man_page.h"

#include <vector>

#include <fmt/format.h>

#include "report/words/cautions.h"

namespace cli {
namespace {

std::string Head(std::string_view name, std::string_view summary, std::string_view version) {
  std::string title(name);
  for (char& c : title) {
    c = c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
  }
  return fmt::format(".TH {} 1 \"\" \"rigproof {}\" \"User Commands\"\n.SH NAME\n{} \\- {}\n",
                     TroffText(title), TroffText(version), TroffText(name), TroffText(summary));
}

/// "--seconds SECONDS", the name in bold and the value in italics.
std::string Term(const OptionRow& row) {
  if (!row.name.starts_with("--")) {
    return fmt::format("\\fI{}\\fR", TroffText(row.name));
  }
  return row.value.empty()
             ? fmt::format("\\fB{}\\fR", TroffText(row.name))
             : fmt::format("\\fB{}\\fR \\fI{}\\fR", TroffText(row.name), TroffText(row.value));
}

std::string OptionTerms(const std::vector<OptionRow>& rows) {
  std::string text;
  for (const OptionRow& row : rows) {
    text += fmt::format(".TP\n{}\n{}\n", Term(row), TroffText(row.help));
  }
  return text;
}

std::string Synopsis(const CommandRow& command) {
  std::string text = fmt::format(".SH SYNOPSIS\n\\fBrigproof {}\\fR", TroffText(command.name));
  for (const OptionRow& row : command.options) {
    text += row.required ? " " + Term(row) : " [" + Term(row) + "]";
  }
  return text + "\n";
}

std::string Section(std::string_view title, const std::vector<std::string_view>& texts) {
  std::string section;
  for (const std::string_view text : texts) {
    section += fmt::format("{}{}\n", section.empty() ? "" : ".PP\n", TroffText(text));
  }
  return section.empty() ? section : fmt::format(".SH {}\n{}", title, section);
}

}  // namespace

std::string TroffText(std::string_view text) {
  std::string safe;
  for (const char c : text) {
    const bool begins_line = safe.empty() || safe.back() == '\n';
    if (begins_line && (c == '.' || c == '\'')) {
      safe += "\\&";
    }
    switch (c) {
      case '\\':
        safe += "\\e";
        break;
      case '-':
        safe += "\\-";
        break;
      case '"':
        safe += "\\(dq";
        break;
      default:
        safe += c;
    }
  }
  return safe;
}

std::string ManPage(std::string_view version) {
  std::string page = Head("rigproof", "can this PC run this live production?", version);
  page += ".SH SYNOPSIS\n\\fBrigproof\\fR \\fICOMMAND\\fR [\\fIOPTION\\fR]...\n";
  page += ".SH COMMANDS\n";
  for (const CommandRow& row : CommandTable()) {
    page += fmt::format(".TP\n\\fB{}\\fR\n{}.\nSee \\fBrigproof\\-{}\\fR(1).\n",
                        TroffText(row.name), TroffText(row.summary), TroffText(row.name));
  }
  page += ".SH OPTIONS\nOf every command:\n" + OptionTerms(CommonOptions());
  page +=
      ".TP\n\\fB\\-\\-help\\fR\nPrint help, with an example\n"
      ".TP\n\\fB\\-\\-version\\fR\nPrint the version, and those of the libraries\n";
  page += Section("EXIT STATUS", {kVerdictStatuses, "Commands that give no verdict end with 0."});
  page += Section("CAUTIONS", {"Of every command that loads the PC:", report::kCautionLive,
                               report::kCautionHeat, report::kCautionFlash, report::kCautionMains,
                               report::kCautionInside});
  return page;
}

std::string ManPage(const CommandRow& command, std::string_view version) {
  std::string page =
      Head(fmt::format("rigproof-{}", command.name), std::string(command.summary), version);
  page += Synopsis(command);
  page += ".SH OPTIONS\n" + OptionTerms(command.options) + OptionTerms(CommonOptions());
  page += fmt::format(".SH EXAMPLE\n.EX\n{}\n.EE\n", TroffText(command.example));
  page += Section("CAUTIONS", command.cautions) + Section("NOTES", command.notes) +
          Section("EXIT STATUS", {command.statuses});
  return page + ".SH SEE ALSO\n\\fBrigproof\\fR(1)\n";
}

}  // namespace cli
