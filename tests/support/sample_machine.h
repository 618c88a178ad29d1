// SPDX-License-Identifier: Apache-2.0
//
// The invented machine of the sample Document, and what was made of it.

#pragma once

#include "report/data/document.h"

namespace report {

/// A machine that does not exist, with some readings unknown.
probes::Inventory SampleMachine();

/// Fills verdict, headroom, findings, wiring, method and cautions.
void AddSampleAssessment(Document& document);

}  // namespace report
