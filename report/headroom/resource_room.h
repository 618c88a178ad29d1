// SPDX-License-Identifier: Apache-2.0
//
// Every resource but the CPU, for a production that has grown: arithmetic over stored readings.

#pragma once

#include <vector>

#include "report/data/document.h"

namespace report {

/// The evidence without its series, to be asked again and again with other profiles.
Evidence WithoutSeries(const Evidence& evidence);

/// Headroom of memory, memory traffic, disks, space, encoders, USB, PCIe and
/// network as if `evidence` were of `grown`. Memory in use is what the
/// rehearsal used and what the sums add to that.
std::vector<Headroom> RowsOfGrown(const Evidence& evidence, const profiles::Profile& grown);

}  // namespace report
