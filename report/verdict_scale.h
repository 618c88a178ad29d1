// SPDX-License-Identifier: Apache-2.0
//
// Verdicts from good to bad, and how they look on a terminal.

#pragma once

#include "report/document.h"
#include "report/recording.h"
#include "report/write_terminal_text.h"

namespace report {

/// 0 ready, then tight, unproven, short: what may yet turn out well comes before what does not.
int BadnessOf(Verdict verdict);
Tone ToneOf(Verdict verdict);

/// "PARTS MISSING" in its tone.
Piece WordOf(RecordingVerdict verdict);

}  // namespace report
