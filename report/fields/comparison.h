// SPDX-License-Identifier: Apache-2.0
//
// Members of comparisons and rankings as JSON.

#pragma once

#include "report/data/comparison.h"
#include "report/fields/fields.h"
#include "report/fields/words.h"

template <>
inline constexpr std::array<base::Word<report::Standing>, 5> base::kWords<report::Standing>{
    {{report::Standing::kBetter, "better"},
     {report::Standing::kWorse, "worse"},
     {report::Standing::kSame, "no real difference"},
     {report::Standing::kUnsure, "unsure"},
     {report::Standing::kNotTold, "not told"}}};

namespace report::stored {

RIGPROOF_FIELDS(ComparedFigure, group, what, item, unit, higher_is_better, before, after, change,
                low, high, p_value, test, standing, why)
RIGPROOF_FIELDS(ChangedFact, area, what, before, after)
RIGPROOF_FIELDS(ComparedResult, name, production, started_at, length, machine, system,
                program_version, verdict, complete, headline)
RIGPROOF_FIELDS(Comparison, before, after, productions, machines, figures, tests, headline,
                cautions, method)
RIGPROOF_FIELDS(RankedResult, rank, result, tightest, tightest_spare, tightest_keep, lost,
                lost_upper, speed, speed_low, speed_high, more_sources, production, against_above,
                against_why)
RIGPROOF_FIELDS(UnreadResult, name, why)
RIGPROOF_FIELDS(Ranking, results, not_read, productions, headline, cautions, method)

}  // namespace report::stored
