// SPDX-License-Identifier: Apache-2.0
//
// Cells of a comparison, the same on the terminal and on the page.

#pragma once

#include <optional>
#include <string>

#include "report/data/comparison.h"

namespace report {

/// In the figure's unit; "not known" without a value.
std::string FigureValue(const ComparedFigure& figure, const std::optional<double>& value);
/// "+0.12 CPUs", "x 2.1" where it is a ratio; "-" without one.
std::string ChangeText(const ComparedFigure& figure);
/// "-0.1 to +0.3 CPUs"; empty where nothing was tested.
std::string IntervalText(const ComparedFigure& figure);
/// "0.03"; "below 0.001"; empty.
std::string ChanceText(const ComparedFigure& figure);

}  // namespace report
