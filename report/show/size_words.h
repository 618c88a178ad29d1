// SPDX-License-Identifier: Apache-2.0
//
// Resources of a sizing in words.

#pragma once

#include <string>

#include "report/data/sizing.h"

namespace report {

/// "cpu", "disk /recordings".
std::string SizedName(const SizedResource& row);
/// "12 % headroom (4 % to 20 %)", "-31 % headroom".
std::string SizedSpare(const SizedResource& row);
/// "sure", "likely", "open".
std::string SurenessText(Sureness sureness);
/// "a plug", "a setting" ...: what it asks of people.
std::string CostText(RemedyCost cost);

}  // namespace report
