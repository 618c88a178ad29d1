// SPDX-License-Identifier: Apache-2.0
//
// A Document of an invented production, for tests of the report page.

#pragma once

#include "report/data/document.h"

namespace report {

/// Five invented cameras on one PC that falls short: drops in the middle, two
/// captures on one hub, a row that nothing proves, eight outputs. `seconds` is
/// the length of the rehearsal. No figure in it was measured anywhere.
Document SampleDocument(int seconds);

}  // namespace report
