// SPDX-License-Identifier: Apache-2.0
//
// The samples of one record, from its columns.

#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "probes/data/watch_log.h"
#include "probes/watch_log/bytes.h"
#include "probes/watch_log/names.h"

namespace probes {

/// Nothing when the bytes are no samples. Of samples that `wanted` (first and last second of the
/// record) is not true for, only the clocks are told. `seconds` stays 0 where the record leaves it
/// to the distance from the sample before.
std::optional<std::vector<WatchSample>> ReadSampleBlock(
    ByteReader& bytes, const WatchNames& names,
    const std::function<bool(double from_s, double to_s)>& wanted);

}  // namespace probes
