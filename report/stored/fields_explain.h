// SPDX-License-Identifier: Apache-2.0
//
// Members of an explanation of recordings, and the words in it.

#pragma once

#include "report/explain/recording.h"
#include "report/fields/fields.h"
#include "report/fields/words.h"

template <>
inline constexpr std::array<base::Word<report::PlacedBy>, 5> base::kWords<report::PlacedBy>{
    {{report::PlacedBy::kNothing, "nothing"},
     {report::PlacedBy::kUser, "user"},
     {report::PlacedBy::kClock, "clock"},
     {report::PlacedBy::kClockAndSearch, "clock and search"},
     {report::PlacedBy::kSearch, "search"}}};

namespace report::stored {

RIGPROOF_FIELDS(LogPlace, by, at_s, within_s, confidence_percent, told, doubts)

}  // namespace report::stored
