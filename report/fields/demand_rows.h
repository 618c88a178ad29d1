// SPDX-License-Identifier: Apache-2.0
//
// The demand sums as rows of one shape: what is asked, of which part, and by which sum.

#pragma once

#include <string>
#include <vector>

#include "profiles/demand/demand.h"
#include "report/data/document.h"

namespace report::stored {

struct DemandRow {
  std::string resource;  // "capture", "sdi", "network in", "encode", "disk", "memory" ...
  std::string item;      // the source or output; empty for the whole production
  double value = 0;
  std::string unit;  // "B/s", "bit/s", "B", "frames", "macroblocks/s", "sessions"
  Basis basis = Basis::kComputed;
  std::string source;  // the sum behind it, one line
};

/// Sources first, then outputs, then the whole production. Rows that ask
/// nothing of a resource are left out.
std::vector<DemandRow> DemandRows(const profiles::Demand& demand);

}  // namespace report::stored
