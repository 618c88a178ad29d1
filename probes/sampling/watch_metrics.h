// SPDX-License-Identifier: Apache-2.0
//
// Where a watch stands, for programs that monitor PCs.

#pragma once

#include <string>
#include <string_view>

#include "probes/sampling/watch_run.h"

namespace probes {

enum class MetricsForm {
  kOpenMetrics,  // OpenMetrics 1.0, text format
  kPlainText,    // the older text format, version 0.0.4
};

/// What HTTP calls each form.
std::string_view ContentType(MetricsForm form);

/// Means of the last second in base units: seconds, bytes, ratios, hertz.
std::string WriteMetrics(const WatchState& state, MetricsForm form);

}  // namespace probes
