// SPDX-License-Identifier: Apache-2.0
//
// How verdicts look on a terminal.

#pragma once

#include "report/data/document.h"
#include "report/data/recording.h"
#include "report/show/terminal/text.h"

namespace report {

Tone ToneOf(Verdict verdict);

/// "PARTS MISSING" in its tone.
Piece WordOf(RecordingVerdict verdict);

}  // namespace report
