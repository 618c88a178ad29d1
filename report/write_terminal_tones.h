// SPDX-License-Identifier: Apache-2.0
//
// How verdicts look on a terminal.

#pragma once

#include "report/document.h"
#include "report/recording.h"
#include "report/write_terminal_text.h"

namespace report {

Tone ToneOf(Verdict verdict);

/// "PARTS MISSING" in its tone.
Piece WordOf(RecordingVerdict verdict);

}  // namespace report
