// SPDX-License-Identifier: Apache-2.0
//
// What results of before told in texts alone, and later ones in members of their own.

#pragma once

#include <optional>
#include <string_view>

#include "report/data/document.h"

namespace report::stored {

/// "1280x720 nv12", "1280x720 from 4", "1280x720 libx264 low talk 3000 kb/s", "aac 2 channels ...":
/// of which frame a cost is, from its detail. Nothing where that is none of these.
std::optional<bench::CostSubject> SubjectOfDetail(bench::Stage stage, std::string_view detail);

/// Fills in what the file told in no member of its own.
void FillInOlder(Evidence& evidence);

}  // namespace report::stored
