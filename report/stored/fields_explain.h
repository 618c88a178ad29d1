// SPDX-License-Identifier: Apache-2.0
//
// Members of an explanation of recordings, and the words in it.

#pragma once

#include "report/explain_recording.h"
#include "report/stored/fields.h"
#include "report/stored/words.h"

namespace report::stored {

template <>
inline constexpr std::array<Word<PlacedBy>, 5> kWords<PlacedBy>{
    {{PlacedBy::kNothing, "nothing"},
     {PlacedBy::kUser, "user"},
     {PlacedBy::kClock, "clock"},
     {PlacedBy::kClockAndSearch, "clock and search"},
     {PlacedBy::kSearch, "search"}}};

RIGPROOF_FIELDS(LogPlace, by, at_s, within_s, confidence_percent, told, doubts)

}  // namespace report::stored
