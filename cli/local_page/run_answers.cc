// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/run_answers.h"

#include <algorithm>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "cli/local_page/requests.h"
#include "cli/runs/evidence.h"
#include "cli/system/outcome.h"
#include "cli/system/pc_lock.h"
#include "cli/system/program_parts.h"
#include "profiles/text/reader.h"
#include "report/assess/assess.h"
#include "report/fields/words.h"

namespace cli {
namespace {

constexpr std::size_t kNameBytes = 50;  // of the profile's name in that of its result

/// As much of UTF-8 text as fits, whole characters.
std::string Shortened(const std::string& text, std::size_t most_bytes) {
  std::size_t end = std::min(text.size(), most_bytes);
  while (end > 0 && end < text.size() && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) {
    --end;
  }
  return text.substr(0, end);
}

/// "friday 2026-11-28 15.40.02": sorts by time, and every filesystem takes it.
std::string ResultName(const Shelf& shelf, const std::string& profile) {
  std::string time = UtcNow();
  std::replace(time.begin(), time.end(), 'T', ' ');
  std::replace(time.begin(), time.end(), ':', '.');
  time.erase(std::remove(time.begin(), time.end(), 'Z'), time.end());
  return shelf.NewResultName(Shortened(profile, kNameBytes) + " " + time);
}

std::vector<std::string> CommandLine(const Shelf& shelf, const RunOrder& order,
                                     const std::string& result) {
  std::vector<std::string> argv = {MediaProgram().string(),
                                   "qualify",
                                   shelf.ProfilePath(order.profile).string(),
                                   "--length=" + order.length,
                                   "--into=" + shelf.ResultPath(result).string(),
                                   "--progress-json"};
  if (!order.record_to.empty()) {
    argv.push_back("--record-to=" + order.record_to);
  }
  return argv;
}

std::string StageWord(RehearsalStage stage) {
  switch (stage) {
    case RehearsalStage::kNone:
      return "none";
    case RehearsalStage::kRunning:
      return "running";
    case RehearsalStage::kStopping:
      return "stopping";
    case RehearsalStage::kEnded:
      return "ended";
  }
  return "";
}

/// The verdict that an exit status stands for; nothing where it tells of a failure.
std::optional<report::Verdict> VerdictOf(int exit_status) {
  for (const auto verdict : {report::Verdict::kReady, report::Verdict::kTight,
                             report::Verdict::kShort, report::Verdict::kUnproven}) {
    if (report::ExitStatus(verdict) == exit_status) {
      return verdict;
    }
  }
  return std::nullopt;
}

/// The line that the program ended with, without its name.
std::string LastWords(const RehearsalState& state) {
  std::string text = state.messages.empty() ? "it said nothing" : state.messages.back();
  const std::string name = "rigproof: ";
  return text.starts_with(name) ? text.substr(name.size()) : text;
}

/// Empty where there is a verdict.
std::string WhyNoVerdict(const RehearsalState& state) {
  if (state.end.exit_status == kWrongUse) {
    return "It did not start. " + LastWords(state);
  }
  if (state.end.exit_status < 0) {
    return state.end.signal != 0 ? fmt::format("It was ended by signal {}.", state.end.signal)
                                 : "It could not be started. " + LastWords(state);
  }
  return VerdictOf(state.end.exit_status) ? "" : "It failed. " + LastWords(state);
}

}  // namespace

Answer AnswerStart(const Shelf& shelf, Rehearsals& rehearsals, const std::string& body) {
  const auto order = ParseRunOrder(body);
  if (!order) {
    return ErrorAnswer(order.error());
  }
  const auto text = shelf.ReadProfile(order->profile);
  if (!text) {
    return ErrorAnswer(text.error());
  }
  if (const auto profile = profiles::ParseProfile(*text, "profile"); !profile) {
    return ErrorAnswer(profile.error());
  }
  // Told at once where it can be seen; else the rehearsal itself finds out, and says the same.
  const auto other = rehearsals.Running() ? std::nullopt : WhoLoadsThisPc();
  if (other) {
    return ErrorAnswer({base::ErrorKind::kDenied, "this PC", LoadedBy(*other)});
  }
  const std::string result = ResultName(shelf, order->profile);
  auto started =
      rehearsals.Start({CommandLine(shelf, *order, result), order->profile, result, order->length});
  if (!started) {
    return ErrorAnswer(started.error());
  }
  return JsonAnswer(RunJson(rehearsals), 202);
}

Answer AnswerStop(Rehearsals& rehearsals) {
  if (!rehearsals.Stop()) {
    return ErrorAnswer({base::ErrorKind::kDenied, "", "no rehearsal runs"});
  }
  return JsonAnswer(RunJson(rehearsals), 202);
}

Json RunJson(const Rehearsals& rehearsals) {
  const RehearsalState state = rehearsals.State();
  Json phases = Json::array();
  for (const ProgressRecord& record : state.phases) {
    phases.push_back({{"phase", record.phase},
                      {"elapsed_s", record.elapsed_s},
                      {"expected_s", record.expected_s},
                      {"note", record.note},
                      {"done", record.done}});
  }
  Json json{{"stage", StageWord(state.stage)}, {"profile", state.order.profile},
            {"result", state.order.result},    {"length", state.order.length},
            {"began_at", state.began_at},      {"phases", std::move(phases)},
            {"messages", state.messages},      {"stopped", state.stopped}};
  if (state.stage == RehearsalStage::kEnded) {
    const auto verdict = VerdictOf(state.end.exit_status);
    json["verdict"] = verdict ? Json(report::stored::WordOf(*verdict)) : Json();
    json["failed"] = WhyNoVerdict(state);
  }
  return json;
}

}  // namespace cli
