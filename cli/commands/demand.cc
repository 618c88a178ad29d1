// SPDX-License-Identifier: Apache-2.0
//
// rigproof demand: what the production asks of its PC.

#include "profiles/demand/demand.h"

#include "cli/commands/run.h"
#include "cli/system/inputs.h"
#include "cli/system/output_style.h"
#include "cli/system/show.h"
#include "cli/system/write_file.h"
#include "profiles/demand/stream_url.h"
#include "report/show/rows/demand.h"
#include "report/show/terminal/blocks.h"
#include "report/stored/write_json.h"

namespace cli {

base::Result<int> RunDemand(const Options& options) {
  auto chosen = ReadChosenProfile(options);
  if (!chosen) {
    return chosen.error();
  }
  const profiles::Demand demand = profiles::SumDemand(chosen->profile);
  const profiles::Profile profile = profiles::WithMaskedUrls(chosen->profile);
  auto printed =
      PrintOut(options.json ? report::DemandJson(profile, demand)
                            : report::WriteSheets({report::DemandAnswer(profile, demand)},
                                                  OutputStyle(options.details)));
  if (!printed) {
    return printed.error();
  }
  return 0;
}

}  // namespace cli
