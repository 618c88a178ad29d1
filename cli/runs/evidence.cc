// SPDX-License-Identifier: Apache-2.0
//
// Profile, demand and the time of day.

#include "cli/runs/evidence.h"

#include <chrono>
#include <ctime>
#include <string_view>
#include <utility>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "cli/options/version.h"
#include "profiles/demand/demand.h"
#include "profiles/demand/stream_url.h"

namespace cli {
namespace {

/// As a shell takes it for one word.
std::string ShellWord(const std::string& word) {
  constexpr std::string_view kPlain =
      "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_./:=,+-";
  if (word.find_first_not_of(kPlain) == std::string::npos) {
    return word;
  }
  std::string quoted = "'";
  for (const char c : word) {
    quoted += c == '\'' ? std::string("'\\''") : std::string(1, c);
  }
  return quoted + "'";
}

}  // namespace

std::string UtcNow() {
  const std::time_t now = std::chrono::system_clock::to_time_t(std::chrono::system_clock::now());
  return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", fmt::gmtime(now));
}

std::string AgainCommand(const Options& options) {
  std::string line =
      options.command == Command::kRehearse ? "rigproof rehearse" : "rigproof qualify";
  const auto add = [&line](std::string_view option, const std::string& value) {
    if (!value.empty()) {
      line += std::string(option) + " " + ShellWord(value);
    }
  };
  add("", options.profile);
  add(" --length", options.length == Length::kQuick ? "" : ToText(options.length));
  add(" --seconds", options.seconds > 0 ? fmt::format("{:g}", options.seconds) : "");
  add(" --into", options.into);
  add(" --record-to", options.record_folder);
  line += options.search ? " --search" : "";
  line += options.send_streams ? " --send-streams" : "";
  return line;
}

report::Evidence StartEvidence(const profiles::Profile& profile, std::string length) {
  report::Evidence evidence;
  evidence.profile = profiles::WithMaskedUrls(profile);
  evidence.demand = profiles::SumDemand(profile);
  evidence.started_at = UtcNow();
  evidence.length = std::move(length);
  evidence.program_version = ProgramVersion();
  return evidence;
}

}  // namespace cli
