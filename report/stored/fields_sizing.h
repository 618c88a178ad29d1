// SPDX-License-Identifier: Apache-2.0
//
// Members of a sizing as JSON.

#pragma once

#include "report/sizing.h"
#include "report/stored/fields.h"
#include "report/stored/fields_comparison.h"
#include "report/stored/words.h"

namespace report::stored {

template <>
inline constexpr std::array<Word<Sureness>, 3> kWords<Sureness>{
    {{Sureness::kSure, "sure"}, {Sureness::kLikely, "likely"}, {Sureness::kOpen, "open"}}};

template <>
inline constexpr std::array<Word<RemedyCost>, 5> kWords<RemedyCost>{
    {{RemedyCost::kPlug, "a plug"},
     {RemedyCost::kSetting, "a setting"},
     {RemedyCost::kWorkPerPicture, "less work a picture"},
     {RemedyCost::kPicture, "less of a picture"},
     {RemedyCost::kPart, "a part"}}};

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
