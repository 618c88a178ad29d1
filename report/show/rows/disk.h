// SPDX-License-Identifier: Apache-2.0
//
// The writing test of a disk in words.

#pragma once

#include "bench/data/results.h"
#include "report/show/blocks.h"

namespace report {

/// What a folder held up, and whether it was steady.
show::Part DiskPart(const bench::DiskRun& run);

}  // namespace report
