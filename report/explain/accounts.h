// SPDX-License-Identifier: Apache-2.0
//
// Explained moments summed up by cause.

#pragma once

#include <vector>

#include "probes/data/telemetry.h"
#include "report/data/document.h"
#include "report/explain/explain.h"

namespace report {

/// One account per cause of the moments that have runs, most frames first; its evidence is that of
/// the moment that lost most.
std::vector<DropCause> AccountCauses(const std::vector<MissingMoment>& moments,
                                     const std::vector<Explanation>& explanations,
                                     const probes::TelemetryRecord& telemetry);

/// "indexer (process 99)": the process that was the busiest other one for most of the moments'
/// time; empty when none was.
std::string BusiestOther(const probes::TelemetryRecord& telemetry,
                         const std::vector<MissingMoment>& moments);

}  // namespace report
