// SPDX-License-Identifier: Apache-2.0
//
// Members of a what-if model as JSON.

#pragma once

#include "report/stored/fields.h"
#include "report/stored/fields_report.h"
#include "report/stored/words.h"
#include "report/what_if_model.h"

namespace report::stored {

template <>
inline constexpr std::array<Word<NodeStep>, 13> kWords<NodeStep>{{{NodeStep::kNumber, "number"},
                                                                  {NodeStep::kInput, "input"},
                                                                  {NodeStep::kSum, "sum"},
                                                                  {NodeStep::kProduct, "product"},
                                                                  {NodeStep::kQuotient, "quotient"},
                                                                  {NodeStep::kPower, "power"},
                                                                  {NodeStep::kLeast, "least"},
                                                                  {NodeStep::kMost, "most"},
                                                                  {NodeStep::kMore, "more"},
                                                                  {NodeStep::kSame, "same"},
                                                                  {NodeStep::kEither, "either"},
                                                                  {NodeStep::kSpare, "spare"},
                                                                  {NodeStep::kTable, "table"}}};

RIGPROOF_FIELDS(WhatIfInput, group, label, unit, least, most, step, now, choices)
RIGPROOF_FIELDS(WhatIfResource, resource, item, unit, shown, asked, capacity, left, lowest, highest,
                margin_percent, basis, source, how_to_prove)
RIGPROOF_FIELDS(WhatIfUnproven, when, text)

}  // namespace report::stored
