// SPDX-License-Identifier: Apache-2.0
//
// How each figure came about, and what to be careful about.

#pragma once

#include <string>
#include <vector>

#include "report/loads/facts.h"

namespace report {

std::vector<std::string> MethodLines(const Facts& facts);
/// What a person must know who repeats it; a survey puts no load on the PC.
std::vector<std::string> Cautions(const Evidence& evidence);

}  // namespace report
