// SPDX-License-Identifier: Apache-2.0
//
// The sections of the verdict on a terminal.

#pragma once

#include <vector>

#include "report/data/document.h"
#include "report/show/terminal/text.h"

namespace report {

/// The verdict's word in capitals.
Piece VerdictPiece(Verdict verdict);
/// Verdict, what is spare, what to fix first; then what was run.
void PutVerdict(TerminalPage& page, const Document& document);
/// Every resource with a bar: '#' in use, '|' where the margin begins.
void PutHeadroom(TerminalPage& page, const Document& document);
/// Headroom found with extra load, beside arithmetic, and why they differ.
void PutBallast(TerminalPage& page, const Document& document);
/// Where the figures come from, in a line or two.
void PutBasis(TerminalPage& page, const Document& document);
void PutFindings(TerminalPage& page, const std::vector<Finding>& findings);
/// The links that captures load, what to move where, and the links after it.
void PutWiring(TerminalPage& page, const Document& document);
/// The account of every output, where frames were lost, what may be lost.
void PutRehearsal(TerminalPage& page, const Document& document);
/// Parts of the rehearsal: causes of drops, lasting steps, what the run proves.
void PutCauses(TerminalPage& page, const Document& document);
void PutSteps(TerminalPage& page, const Document& document);
void PutProof(TerminalPage& page, const Document& document);
/// How many more sources of each kind fit, and what runs out first.
void PutRoom(TerminalPage& page, const Document& document);
void PutCautions(TerminalPage& page, const Document& document);

}  // namespace report
