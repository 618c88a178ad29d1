// SPDX-License-Identifier: Apache-2.0
//
// How each figure came about, and what to be careful about.

#pragma once

#include <string>
#include <vector>

#include "report/facts.h"

namespace report {

std::vector<std::string> MethodLines(const Facts& facts);
std::vector<std::string> Cautions();

}  // namespace report
