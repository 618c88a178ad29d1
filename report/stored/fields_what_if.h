// SPDX-License-Identifier: Apache-2.0
//
// Members of a what-if model as JSON.

#pragma once

#include "report/data/what_if_model.h"
#include "report/fields/fields.h"
#include "report/fields/report.h"
#include "report/fields/words.h"

template <>
inline constexpr std::array<base::Word<report::NodeStep>, 13> base::kWords<report::NodeStep>{
    {{report::NodeStep::kNumber, "number"},
     {report::NodeStep::kInput, "input"},
     {report::NodeStep::kSum, "sum"},
     {report::NodeStep::kProduct, "product"},
     {report::NodeStep::kQuotient, "quotient"},
     {report::NodeStep::kPower, "power"},
     {report::NodeStep::kLeast, "least"},
     {report::NodeStep::kMost, "most"},
     {report::NodeStep::kMore, "more"},
     {report::NodeStep::kSame, "same"},
     {report::NodeStep::kEither, "either"},
     {report::NodeStep::kSpare, "spare"},
     {report::NodeStep::kTable, "table"}}};

namespace report::stored {

RIGPROOF_FIELDS(WhatIfInput, group, label, unit, least, most, step, now, choices)
RIGPROOF_FIELDS(WhatIfResource, resource, item, unit, shown, asked, capacity, left, lowest, highest,
                margin_percent, basis, source, how_to_prove)
RIGPROOF_FIELDS(WhatIfUnproven, when, text)

}  // namespace report::stored
