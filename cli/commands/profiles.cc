// SPDX-License-Identifier: Apache-2.0
//
// rigproof profiles: the starters, one of them, or the schema of the format.

#include <string>
#include <vector>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "cli/commands/run.h"
#include "cli/system/write_file.h"
#include "profiles/text/reader.h"
#include "profiles/text/starters.h"

namespace cli {
namespace {

base::Result<std::string> OneStarter(const std::string& name) {
  std::vector<std::string> names;
  for (const profiles::Starter& starter : profiles::Starters()) {
    if (starter.name == name) {
      return std::string(starter.json);
    }
    names.emplace_back(starter.name);
  }
  const auto nearest = base::NearestWord(name, names);
  return base::Error{base::ErrorKind::kInvalid, "--show",
                     fmt::format("found \"{}\", allowed: {}", base::Printable(name, 60),
                                 nearest ? "did you mean " + *nearest + "?"
                                         : fmt::format("{}", fmt::join(names, ", ")))};
}

base::Result<std::string> ListOfStarters(bool as_json) {
  std::string text;
  auto rows = nlohmann::ordered_json::array();
  for (const profiles::Starter& starter : profiles::Starters()) {
    auto profile = profiles::ParseProfile(starter.json, std::string(starter.name));
    if (!profile) {
      return profile.error();
    }
    const bool is_default = starter.name == profiles::DefaultStarterName();
    text += fmt::format("{}{}\n    {}\n", starter.name, is_default ? "  (default of qualify)" : "",
                        profile->note);
    rows.push_back({{"name", starter.name},
                    {"title", profile->name},
                    {"note", profile->note},
                    {"default", is_default}});
  }
  return as_json ? rows.dump(2) + "\n" : text;
}

}  // namespace

base::Result<int> RunProfiles(const Options& options) {
  base::Result<std::string> text = options.show_schema ? std::string(profiles::ProfileSchemaJson())
                                   : options.show.empty() ? ListOfStarters(options.json)
                                                          : OneStarter(options.show);
  if (!text) {
    return text.error();
  }
  if (auto printed = PrintOut(*text); !printed) {
    return printed.error();
  }
  return 0;
}

}  // namespace cli
