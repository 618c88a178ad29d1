// SPDX-License-Identifier: Apache-2.0
//
// Questions to a finding. Its sentences are for people: nothing is searched in them.

#pragma once

#include "report/data/document.h"

namespace report {

bool IsAbout(const Finding& finding, const Subject& subject);
bool BearsOn(const Finding& finding, Resource resource);

}  // namespace report
