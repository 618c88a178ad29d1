// SPDX-License-Identifier: Apache-2.0
//
// Rehearsals as the page starts, follows and stops them.

#pragma once

#include <string>

#include "cli/local_page/answer.h"
#include "cli/local_page/rehearsals.h"
#include "cli/local_page/shelf.h"

namespace cli {

/// 202, or 409 while another one runs.
Answer AnswerStart(const Shelf& shelf, Rehearsals& rehearsals, const std::string& body);
/// 409 when none runs.
Answer AnswerStop(Rehearsals& rehearsals);
Json RunJson(const Rehearsals& rehearsals);

}  // namespace cli
