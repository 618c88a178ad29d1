// SPDX-License-Identifier: Apache-2.0
//
// Explained moments summed up by cause.

#include "report/explain/accounts.h"

#include <algorithm>
#include <map>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"

namespace report {
namespace {

constexpr char kTakenByOthers[] = "CPU taken by another process";

template <typename T>
void AddOnce(std::vector<T>& list, const T& one) {
  if (one != T() && std::find(list.begin(), list.end(), one) == list.end()) {
    list.push_back(one);
  }
}

void AddMoment(const MissingMoment& moment, DropCause& cause) {
  cause.first_s = cause.runs == 0 ? moment.from_s : std::min(cause.first_s, moment.from_s);
  cause.last_s = std::max(cause.last_s, moment.last_s);
  cause.frames += moment.frames;
  cause.runs += moment.runs;
  AddOnce(cause.stages, moment.stage);
  AddOnce(cause.outputs, moment.output);
}

}  // namespace

std::string BusiestOther(const probes::TelemetryRecord& telemetry,
                         const std::vector<MissingMoment>& moments) {
  std::map<std::pair<std::string, int>, double> seconds;
  for (const probes::TelemetrySample& sample : telemetry.samples) {
    const bool inside = std::any_of(moments.begin(), moments.end(), [&](const MissingMoment& one) {
      return sample.at_s >= one.from_s - 1 && sample.at_s <= one.to_s + 1;
    });
    if (inside && !sample.top_other.empty()) {
      seconds[{sample.top_other, sample.top_other_pid}] += sample.top_other_cpus;
    }
  }
  const auto most =
      std::max_element(seconds.begin(), seconds.end(),
                       [](const auto& a, const auto& b) { return a.second < b.second; });
  return most == seconds.end()
             ? std::string()
             : fmt::format("{} (process {})", base::Printable(most->first.first, 60),
                           most->first.second);
}

std::vector<DropCause> AccountCauses(const std::vector<MissingMoment>& moments,
                                     const std::vector<Explanation>& explanations,
                                     const probes::TelemetryRecord& telemetry) {
  std::map<std::string, DropCause> accounts;
  std::map<std::string, std::vector<MissingMoment>> places;
  std::map<std::string, std::int64_t> most;
  for (std::size_t i = 0; i < moments.size() && i < explanations.size(); ++i) {
    const MissingMoment& moment = moments[i];
    const Explanation& explanation = explanations[i];
    if (moment.runs == 0) {
      continue;
    }
    DropCause& account = accounts[explanation.cause];
    account.cause = explanation.cause;
    AddMoment(moment, account);
    places[explanation.cause].push_back(moment);
    const auto [kept, first] = most.try_emplace(explanation.cause, moment.frames);
    if (first || moment.frames > kept->second) {
      kept->second = moment.frames;
      account.evidence_for = explanation.evidence_for;
      account.evidence_against = explanation.evidence_against;
    }
  }
  std::vector<DropCause> causes;
  for (auto& [name, account] : accounts) {
    account.action = ActionFor(name);
    if (name == kTakenByOthers) {
      account.detail = BusiestOther(telemetry, places[name]);
    }
    causes.push_back(std::move(account));
  }
  std::stable_sort(causes.begin(), causes.end(),
                   [](const DropCause& a, const DropCause& b) { return a.frames > b.frames; });
  return causes;
}

}  // namespace report
