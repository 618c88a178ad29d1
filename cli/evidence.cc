// SPDX-License-Identifier: Apache-2.0
//
// Profile, demand and the time of day.

#include "cli/evidence.h"

#include <chrono>
#include <ctime>
#include <utility>

#include <fmt/chrono.h>

#include "cli/version.h"
#include "profiles/demand.h"
#include "profiles/stream_url.h"

namespace cli {

std::string UtcNow() {
  const std::time_t now = std::chrono::system_clock::to_time_t(std::chrono::system_clock::now());
  return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", fmt::gmtime(now));
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
