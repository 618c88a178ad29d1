// SPDX-License-Identifier: Apache-2.0
//
// By what people know a result: file, production, PC, day.

#pragma once

#include "report/compare/compare.h"

namespace report {

ComparedResult IdentityOf(const NamedDocument& named);

}  // namespace report
