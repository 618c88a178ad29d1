// SPDX-License-Identifier: Apache-2.0
//
// The shortest list of what to buy where nothing on this PC suffices.

#pragma once

#include <vector>

#include "report/predict/size_resources.h"

namespace report {

/// What is short, with its margin; where the CPU is, another PC is needed, and the list says all
/// that it must have.
std::vector<Purchase> WhatToBuy(const Sizer& sizer, const profiles::Profile& changed,
                                const SizedProduction& sized);

}  // namespace report
