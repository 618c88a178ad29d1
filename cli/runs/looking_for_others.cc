// SPDX-License-Identifier: Apache-2.0
//
// What other programs take before the load, and whoever sits at the terminal asked about it.

#include <algorithm>
#include <cstdint>
#include <stop_token>
#include <string>

#include <fmt/format.h>

#include "cli/runs/measuring.h"
#include "cli/system/question.h"
#include "cli/system/show.h"
#include "report/headroom/fair_test.h"

namespace cli {
namespace {

/// Other programs are watched so long before the load.
constexpr double kQuietSeconds = 2;
/// Time to stop the run where nobody can be asked.
constexpr double kMomentSeconds = 3;

/// Shorter when a stop is requested.
void Wait(base::Clock& clock, double seconds, const std::stop_token& stop) {
  constexpr std::int64_t kLookNs = 50'000'000;
  const std::int64_t end_ns = clock.NowNs() + static_cast<std::int64_t>(seconds * 1e9);
  for (std::int64_t now = clock.NowNs(); now < end_ns && !stop.stop_requested();
       now = clock.NowNs()) {
    clock.SleepUntilNs(std::min(end_ns, now + kLookNs));
  }
}

}  // namespace

base::Status Measuring::LookForOthers() {
  if (Interrupted()) {
    return base::Done{};
  }
  Begin("looking for other programs", kQuietSeconds);
  probes::TelemetrySampler sampler(root_, Telemetry(kQuietSeconds), clock_);
  Wait(clock_, kQuietSeconds, interrupt_.Token());
  evidence_.before = sampler.Stop();
  progress_.End();
  const report::Disturbance others = report::DisturbanceBefore(evidence_);
  for (const std::string& line : others.not_read) {
    Tell(options_, line);
  }
  if (others.taken.empty()) {
    return base::Done{};
  }
  for (const std::string& line : others.taken) {
    Tell(options_, "this is no fair test: " + line);
  }
  if (CanAsk() && !options_.quiet && !options_.json && !options_.progress_json) {
    const std::int64_t asked_ns = clock_.NowNs();
    const bool go_on =
        AskYesOrNo("rigproof: better close them first. Go on all the same?", interrupt_.Token());
    left_.Extend(static_cast<double>(clock_.NowNs() - asked_ns) / 1e9);
    return go_on || Interrupted()
               ? base::Status(base::Done{})
               : base::Error{base::ErrorKind::kIo, "", "nothing was run: other programs were busy"};
  }
  if (!options_.quiet) {
    Tell(options_, fmt::format("it goes on in {:g} s all the same", kMomentSeconds));
    Wait(clock_, kMomentSeconds, interrupt_.Token());
  }
  return base::Done{};
}

}  // namespace cli
