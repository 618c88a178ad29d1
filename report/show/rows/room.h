// SPDX-License-Identifier: Apache-2.0
//
// Room for more sources: by kind, what each needs, and the rehearsals.

#pragma once

#include <string>

#include "report/data/document.h"
#include "report/show/blocks.h"

namespace report {

/// Whether the number was rehearsed and what came of it, or why it was not; one sentence or two.
std::string SearchText(const Document& document);

/// Empty where nothing was run.
show::Part RoomPart(const Document& document);

}  // namespace report
