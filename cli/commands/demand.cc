// SPDX-License-Identifier: Apache-2.0
//
// rigproof demand: what the production asks of its PC.

#include "profiles/demand.h"

#include "cli/commands/run.h"
#include "cli/inputs.h"
#include "cli/output_style.h"
#include "cli/show.h"
#include "cli/write_file.h"
#include "profiles/stream_url.h"
#include "report/write_json.h"
#include "report/write_terminal_demand.h"

namespace cli {

base::Result<int> RunDemand(const Options& options) {
  auto chosen = ReadChosenProfile(options);
  if (!chosen) {
    return chosen.error();
  }
  const profiles::Demand demand = profiles::SumDemand(chosen->profile);
  const profiles::Profile profile = profiles::WithMaskedUrls(chosen->profile);
  auto printed = PrintOut(options.json ? report::DemandJson(profile, demand)
                                       : report::WriteDemandText(profile, demand, OutputStyle()));
  if (!printed) {
    return printed.error();
  }
  return 0;
}

}  // namespace cli
