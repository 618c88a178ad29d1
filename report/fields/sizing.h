// SPDX-License-Identifier: Apache-2.0
//
// Members of a sizing as JSON.

#pragma once

#include "report/data/sizing.h"
#include "report/fields/comparison.h"
#include "report/fields/fields.h"
#include "report/fields/words.h"

template <>
inline constexpr std::array<base::Word<report::Sureness>, 3> base::kWords<report::Sureness>{
    {{report::Sureness::kSure, "sure"},
     {report::Sureness::kLikely, "likely"},
     {report::Sureness::kOpen, "open"}}};

template <>
inline constexpr std::array<base::Word<report::RemedyCost>, 5> base::kWords<report::RemedyCost>{
    {{report::RemedyCost::kPlug, "a plug"},
     {report::RemedyCost::kSetting, "a setting"},
     {report::RemedyCost::kWorkPerPicture, "less work a frame"},
     {report::RemedyCost::kPicture, "less of a picture"},
     {report::RemedyCost::kPart, "a part"}}};

namespace report::stored {

RIGPROOF_FIELDS(SizedResource, resource, item, unit, now, asked, capacity, headroom_percent,
                lowest_percent, highest_percent, margin_percent, basis, sureness, source,
                how_to_prove)
RIGPROOF_FIELDS(Remedy, what, changes, cost, verdict, sufficient, assumed, effect,
                worst_above_margin)
RIGPROOF_FIELDS(Purchase, what, amount, lowest, highest, unit, text, from)
RIGPROOF_FIELDS(SizingCheck, seconds, due, dropped, carried, predicted_cpus, measured_cpus,
                off_percent, verdict, text, not_done)
RIGPROOF_FIELDS(Sizing, result, changes, verdict, sureness, headline, runs_out_first, resources,
                unproven, remedies, purchases, basis, cautions, check)

}  // namespace report::stored
