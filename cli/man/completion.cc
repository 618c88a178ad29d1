// SPDX-License-Identifier: Apache-2.0

#include "cli/man/completion.h"

#include <string_view>
#include <vector>

#include <fmt/format.h>

#include "cli/options/option_table.h"

namespace cli {
namespace {

/// Within single quotes of a shell.
std::string Quoted(std::string_view text) {
  std::string safe = "'";
  for (const char c : text) {
    safe += c == '\'' ? std::string("'\\''") : std::string(1, c);
  }
  return safe + "'";
}

std::vector<OptionRow> AllOptions(const CommandRow& command) {
  std::vector<OptionRow> rows = command.options;
  rows.insert(rows.end(), CommonOptions().begin(), CommonOptions().end());
  return rows;
}

bool IsOption(const OptionRow& row) {
  return row.name.starts_with("--");
}

std::string Lengths() {
  return ToText(Length::kQuick) + " " + ToText(Length::kStandard) + " " + ToText(Length::kFull);
}

std::string OptionWords(const CommandRow& command) {
  std::string words;
  for (const OptionRow& row : AllOptions(command)) {
    words += IsOption(row) ? std::string(row.name) + " " : "";
  }
  return words + "--help";
}

/// What zsh calls an optspec: "--into[help]:FOLDER:_files". A colon or bracket in the help would
/// end it.
std::string ZshSpec(const OptionRow& row) {
  std::string help;
  for (const char c : row.help) {
    help +=
        c == ':' || c == '[' || c == ']' || c == '\\' ? std::string("\\") + c : std::string(1, c);
  }
  if (!IsOption(row)) {
    return Quoted(fmt::format("*:{}:_files", row.name));
  }
  if (row.value.empty()) {
    return Quoted(fmt::format("{}[{}]", row.name, help));
  }
  return Quoted(fmt::format("{}[{}]:{}:{}", row.name, help, row.value,
                            row.value == "LENGTH" ? "(" + Lengths() + ")" : "_files"));
}

}  // namespace

std::string BashCompletion() {
  std::string commands;
  std::string cases;
  for (const CommandRow& row : CommandTable()) {
    commands += std::string(row.name) + " ";
    cases += fmt::format("    {}) words={} ;;\n", row.name, Quoted(OptionWords(row)));
  }
  return fmt::format(R"(# Completion of rigproof for bash.
_rigproof() {{
  local word=${{COMP_WORDS[COMP_CWORD]}} before=${{COMP_WORDS[COMP_CWORD-1]}} words=
  if [ "$COMP_CWORD" -eq 1 ]; then
    words={}
  elif [ "$before" = --length ]; then
    words={}
  elif [[ $word == -* ]]; then
    case ${{COMP_WORDS[1]}} in
{}    esac
  fi
  mapfile -t COMPREPLY < <(compgen -W "$words" -- "$word")
}}
complete -o default -F _rigproof rigproof
)",
                     Quoted(commands + "--help --version"), Quoted(Lengths()), cases);
}

std::string ZshCompletion() {
  std::string commands;
  std::string cases;
  for (const CommandRow& row : CommandTable()) {
    commands += fmt::format("    {}\n", Quoted(fmt::format("{}:{}", row.name, row.summary)));
    std::string specs;
    for (const OptionRow& option : AllOptions(row)) {
      specs += " " + ZshSpec(option);
    }
    cases += fmt::format("    {}) _arguments{} ;;\n", row.name, specs);
  }
  return fmt::format(R"(#compdef rigproof
# Completion of rigproof for zsh.
if (( CURRENT == 2 )); then
  local -a commands=(
{}  )
  _describe command commands
else
  local command=$words[2]
  shift words
  (( CURRENT-- ))
  case $command in
{}  esac
fi
)",
                     commands, cases);
}

std::string FishCompletion() {
  std::string lines = "# Completion of rigproof for fish.\n";
  for (const CommandRow& row : CommandTable()) {
    lines += fmt::format("complete -c rigproof -n __fish_use_subcommand -a {} -d {}\n", row.name,
                         Quoted(row.summary));
    for (const OptionRow& option : AllOptions(row)) {
      if (!IsOption(option)) {
        continue;
      }
      lines +=
          fmt::format("complete -c rigproof -n '__fish_seen_subcommand_from {}' -l {} -d {}{}\n",
                      row.name, option.name.substr(2), Quoted(option.help),
                      option.value == "LENGTH" ? " -x -a " + Quoted(Lengths())
                      : option.value.empty()   ? ""
                                               : " -r");
    }
  }
  return lines;
}

}  // namespace cli
