// SPDX-License-Identifier: Apache-2.0
//
// From the option table to a CLI11 parser, and from its exceptions to one clear line.

#include "cli/options/options.h"

#include <algorithm>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "base/text.h"
#include "cli/options/option_table.h"
#include "profiles/demand/stream_url.h"
#include "report/show/terminal/text.h"
#include "report/words/cautions.h"

namespace cli {
namespace {

// Help, wrapped to a width.

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

/// All commands, and the options that each takes. `columns` of the terminal.
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

/// One command: usage, options, example, cautions, what is good to know, exit status.
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

/// What to type first, for somebody who typed the program's name alone.
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

void AddRow(CLI::App& app, const OptionRow& row, Options& options) {
  auto store = [&row, &options](const std::string& value) {
    base::Status stored = row.set(options, value);
    if (!stored) {
      throw CLI::ValidationError(std::string(row.name), stored.error().detail);
    }
  };
  if (row.value.empty()) {
    app.add_flag_callback(
        std::string(row.name), [store] { store(""); }, std::string(row.help));
    return;
  }
  if (row.repeats) {
    auto store_all = [store](const std::vector<std::string>& values) {
      std::for_each(values.begin(), values.end(), store);
    };
    app.add_option_function<std::vector<std::string>>(std::string(row.name), store_all,
                                                      std::string(row.help))
        ->type_name(row.name.starts_with("--") ? std::string(row.value) : "")
        ->required(row.required);
    return;
  }
  CLI::Option* option =
      app.add_option_function<std::string>(std::string(row.name), store, std::string(row.help));
  option->type_name(row.name.starts_with("--") ? std::string(row.value) : "");
  option->required(row.required);
}

void AddRows(CLI::App& app, const std::vector<OptionRow>& rows, Options& options) {
  for (const OptionRow& row : rows) {
    AddRow(app, row, options);
  }
}

/// The whole parser; `options` must outlive it.
std::unique_ptr<CLI::App> MakeParser(Options& options) {
  auto app = std::make_unique<CLI::App>("", "rigproof");
  app->set_help_flag("--help,-h", "Print this help");
  app->set_version_flag("--version", "", "Print the version, and those of FFmpeg and hwloc");
  AddRows(*app, CommonOptions(), options);
  for (const CommandRow& row : CommandTable()) {
    CLI::App* command = app->add_subcommand(std::string(row.name), std::string(row.summary));
    command->set_help_flag("--help,-h", "Print this help");
    command->callback([&options, &row] { options.command = row.command; });
    AddRows(*command, row.options, options);
    AddRows(*command, CommonOptions(), options);
  }
  app->require_subcommand(0, 1);
  return app;
}

base::Error Wrong(std::string detail) {
  return {base::ErrorKind::kInvalid, "command line", std::move(detail)};
}

std::string WithNearest(const std::string& text, const std::string& word,
                        const std::vector<std::string>& known) {
  if (auto nearest = base::NearestWord(word, known)) {
    return text + " (did you mean " + *nearest + "?)";
  }
  std::string list;
  for (const std::string& name : known) {
    list += (list.empty() ? "" : ", ") + name;
  }
  return text + " (known: " + list + ")";
}

std::vector<std::string> CommandNames() {
  std::vector<std::string> names;
  for (const CommandRow& row : CommandTable()) {
    names.emplace_back(row.name);
  }
  return names;
}

std::vector<std::string> OptionNames(const CommandRow* command) {
  std::vector<std::string> names;
  auto add = [&names](const std::vector<OptionRow>& rows) {
    for (const OptionRow& row : rows) {
      if (row.name.starts_with("--")) {
        names.emplace_back(row.name);
      }
    }
  };
  if (command != nullptr) {
    add(command->options);
  } else {
    names.emplace_back("--version");
  }
  add(CommonOptions());
  names.emplace_back("--help");
  return names;
}

const CommandRow* UsedCommand(const CLI::App& app) {
  const auto used = app.get_subcommands();
  if (used.empty()) {
    return nullptr;
  }
  const auto& table = CommandTable();
  auto row = std::find_if(table.begin(), table.end(), [&used](const CommandRow& candidate) {
    return candidate.name == used.front()->get_name();
  });
  return row == table.end() ? nullptr : &*row;
}

/// What stood on the command line and belongs to nothing.
base::Error Unexpected(const CommandRow* command, const std::string& found) {
  const std::string word = found.substr(0, found.find('='));
  const std::string shown = "\"" + base::Printable(profiles::WithMaskedUrls(word), 60) + "\"";
  const std::string of = command == nullptr ? "" : " of " + std::string(command->name);
  if (word.starts_with("-")) {
    return Wrong(WithNearest("unknown option " + shown + of, word, OptionNames(command)));
  }
  if (command == nullptr) {
    return Wrong(WithNearest("unknown command " + shown, word, CommandNames()));
  }
  return Wrong("unexpected argument " + shown + of);
}

/// First leftover of the root or of the command that was used.
std::optional<std::string> FirstLeftover(const CLI::App& app) {
  const std::vector<std::string> leftovers = app.remaining(true);
  return leftovers.empty() ? std::nullopt : std::optional(leftovers.front());
}

std::string OneLine(std::string text) {
  std::replace(text.begin(), text.end(), '\n', ' ');
  return base::Printable(profiles::WithMaskedUrls(base::Trim(text)), 300);
}

}  // namespace

std::string ToText(Length length) {
  switch (length) {
    case Length::kQuick:
      return "quick";
    case Length::kStandard:
      return "standard";
    case Length::kFull:
      return "full";
  }
  return "";
}

base::Result<Invocation> ParseArguments(const std::vector<std::string>& arguments, int columns) {
  Invocation invocation;
  if (arguments.empty()) {
    invocation.text = FirstWords(columns);
    invocation.status = 2;
    return invocation;
  }
  auto app = MakeParser(invocation.options);
  try {
    app->parse(std::vector<std::string>(arguments.rbegin(), arguments.rend()));
  } catch (const CLI::CallForHelp&) {
    const CommandRow* const used = UsedCommand(*app);
    invocation.text = used == nullptr ? HelpText(columns) : HelpText(*used, columns);
    return invocation;
  } catch (const CLI::CallForVersion&) {
    invocation.version = true;
    return invocation;
  } catch (const CLI::ExtrasError& error) {
    const auto leftover = FirstLeftover(*app);
    return leftover ? Unexpected(UsedCommand(*app), *leftover) : Wrong(OneLine(error.what()));
  } catch (const CLI::ParseError& error) {
    return Wrong(OneLine(error.what()));
  }
  if (app->get_subcommands().empty()) {
    return Wrong(WithNearest("a command is missing", "", CommandNames()));
  }
  return invocation;
}

}  // namespace cli
