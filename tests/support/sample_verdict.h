// SPDX-License-Identifier: Apache-2.0
//
// Invented productions and results for the writers' tests.

#pragma once

#include "report/data/document.h"

namespace tests {

/// Two cameras, one recording, one stream.
profiles::Profile QuarryProfile();

/// The sums of QuarryProfile, as round figures.
profiles::Demand QuarryDemand();

/// A minute's rehearsal in which the recording lost 12 frames to a slow disk.
report::Document ShortDocument();

/// All kept; nothing to mend.
report::Document ReadyDocument();

}  // namespace tests
