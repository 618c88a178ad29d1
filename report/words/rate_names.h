// SPDX-License-Identifier: Apache-2.0
//
// Picture rates as the trade writes them, and pairs of them that do not match.

#pragma once

#include <string>

namespace report {

/// "59.94" for a rate within `most_ppm` of a standard one, else four significant digits.
std::string RateName(double per_second, double most_ppm);

/// "60 into 59.94", or "30 by clocks that are 52 ppm apart" where both are the same standard rate.
std::string RatePairText(double offered, double kept);

}  // namespace report
