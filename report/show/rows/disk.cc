// SPDX-License-Identifier: Apache-2.0

#include "report/show/rows/disk.h"

#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "report/words/quantities.h"

namespace report {
namespace {

std::string StepText(const bench::DiskRun& run) {
  if (!run.step_at_s) {
    return "none found";
  }
  std::string text = "after " + base::FormatSeconds(*run.step_at_s);
  if (run.step_ratio) {
    text += fmt::format(", to {} of the rate before", FormatPercent(*run.step_ratio * 100));
  }
  return text;
}

}  // namespace

show::Part DiskPart(const bench::DiskRun& run) {
  show::Facts facts;
  facts.Add("Available", base::FormatBytesPerSecond(run.sustained_bytes_per_second));
  facts.Add("Steady",
            fmt::format("{} {} of the mean, slope {}", run.steady ? "yes: within" : "no: off by",
                        FormatPercent(run.excursion_percent), FormatPercent(run.slope_percent)));
  facts.Add("Step in the rate", StepText(run));
  facts.Add("Written", fmt::format("{} in {}", base::FormatBytes(static_cast<double>(run.bytes)),
                                   base::FormatSeconds(run.seconds)));
  facts.Add("How", run.method);
  if (!run.stopped_because.empty()) {
    facts.Add("Stopped because", run.stopped_because);
  }
  return {"Writing test of " + run.folder, {std::move(facts)}};
}

}  // namespace report
