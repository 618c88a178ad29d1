// SPDX-License-Identifier: Apache-2.0

#include "cli/options/help.h"

#include <algorithm>

#include "report/show/terminal/text.h"
#include "report/words/cautions.h"

namespace cli {
namespace {

using report::TerminalPage;

constexpr int kWidest = 100;
constexpr int kNameColumns = 26;

TerminalPage PageOf(int columns) {
  return TerminalPage({false, std::min(columns, kWidest)});
}

/// The name beside its help, or above it where it is too long for that.
void PutEntry(TerminalPage& page, const std::string& name, std::string_view help) {
  const int beside = std::min(kNameColumns, page.columns() / 3);
  if (report::DisplayWidth(name) < beside) {
    page.Beside(2, {name}, beside, {std::string(help)});
    return;
  }
  page.Line(2, {{name}});
  page.Beside(2, {""}, beside, {std::string(help)});
}

void PutOptions(TerminalPage& page, const std::vector<OptionRow>& rows, bool dashed) {
  for (const OptionRow& row : rows) {
    if (row.name.starts_with("--") == dashed) {
      const bool valued = dashed && !row.value.empty();
      PutEntry(page, std::string(row.name) + (valued ? " " + std::string(row.value) : ""),
               row.help);
    }
  }
}

void PutLines(TerminalPage& page, std::string_view title,
              const std::vector<std::string_view>& lines) {
  if (lines.empty()) {
    return;
  }
  page.Heading(title);
  for (const std::string_view line : lines) {
    page.Beside(2, {"-"}, 2, {std::string(line)});
  }
}

std::string Usage(const CommandRow& command) {
  std::string text = "rigproof " + std::string(command.name) + " [OPTION]...";
  for (const OptionRow& row : command.options) {
    if (!row.name.starts_with("--")) {
      const std::string name = std::string(row.name) + (row.repeats ? "..." : "");
      text += row.required ? " " + name : " [" + name + "]";
    }
  }
  return text;
}

}  // namespace

std::string HelpText(int columns) {
  TerminalPage page = PageOf(columns);
  page.Paragraph(0, {"rigproof: can this PC run this live production for its whole length?"});
  page.Heading("Usage:");
  page.Line(2, {{"rigproof COMMAND [OPTION]..."}});
  page.Heading("Commands:");
  for (const CommandRow& row : CommandTable()) {
    PutEntry(page, std::string(row.name), row.summary);
  }
  page.Heading("Options of every command:");
  PutOptions(page, CommonOptions(), true);
  PutEntry(page, "--help, -h", "Print help, with an example and the exit statuses");
  PutEntry(page, "--version", "Print the version, and those of FFmpeg and hwloc");
  page.Heading("Exit status:");
  page.Paragraph(2, {std::string(kVerdictStatuses)});
  page.Heading("Help on one command:");
  page.Line(2, {{"rigproof COMMAND --help"}});
  return page.text();
}

std::string HelpText(const CommandRow& command, int columns) {
  TerminalPage page = PageOf(columns);
  page.Paragraph(0, {std::string(command.summary) + "."});
  page.Heading("Usage:");
  page.Paragraph(2, {Usage(command)});
  const auto is_argument = [](const OptionRow& row) { return !row.name.starts_with("--"); };
  if (std::any_of(command.options.begin(), command.options.end(), is_argument)) {
    page.Heading("What it takes:");
    PutOptions(page, command.options, false);
  }
  page.Heading("Options:");
  PutOptions(page, command.options, true);
  PutOptions(page, CommonOptions(), true);
  PutEntry(page, "--help, -h", "Print this help");
  page.Heading("Example:");
  page.Line(2, {{std::string(command.example)}});
  PutLines(page, "Before you run it:", command.cautions);
  PutLines(page, "Good to know:", command.notes);
  page.Heading("Exit status:");
  page.Paragraph(2, {std::string(command.statuses)});
  return page.text();
}

std::string FirstWords(int columns) {
  TerminalPage page = PageOf(columns);
  page.Paragraph(0, {"rigproof: can this PC run this live production for its whole length?"});
  page.Heading("Type first:");
  PutEntry(page, "rigproof inventory", "what this PC has; runs no test");
  PutEntry(page, "rigproof qualify",
           "two minutes of test with a small invented production, and a report");
  PutEntry(page, "rigproof open", "all of it in a browser: describe your show, test it");
  PutEntry(page, "rigproof --help", "all commands");
  page.Blank();
  page.Beside(0, {"caution"}, 9, {std::string(report::kCautionLive)});
  return page.text();
}

}  // namespace cli
