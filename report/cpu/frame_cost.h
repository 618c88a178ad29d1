// SPDX-License-Identifier: Apache-2.0
//
// Looks up what a single frame of a picture or of sound cost.

#pragma once

#include <optional>

#include "bench/data/results.h"

namespace report {

/// CPU time of one frame of this stage, raster and form: the dearest of the costs that are of it.
/// Nothing where none is, or where nothing was timed.
std::optional<double> FrameCpuMs(const std::optional<bench::CostTable>& costs, bench::Stage stage,
                                 const bench::CostSubject& of);

/// A frame as a source hands it over, and one that is drawn.
bench::CostSubject SourceFrame(const profiles::Source& source);
bench::CostSubject DrawnFrame(const profiles::Raster& raster);
/// One frame of the rehearsal's sound.
bench::CostSubject SoundFrame();

}  // namespace report
