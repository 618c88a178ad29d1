// SPDX-License-Identifier: Apache-2.0
//
// Headroom measured with extra load beside the production.

#pragma once

#include <string>

#include "report/data/document.h"
#include "report/show/blocks.h"

namespace report {

/// How a figure stands: "ok", "below the margin", or "unproven" where the margin lies within it.
show::Cell StandingOf(const BallastFigure& figure);

/// Figures, what they mean and why they differ from what is calculated, every load step. Empty
/// where none was searched.
show::Part ExtraLoadPart(const Document& document);

}  // namespace report
