// SPDX-License-Identifier: Apache-2.0
//
// Linked into every test program: what it runs of ours is what was built with it.

#include "base/system/program_parts.h"

namespace {

[[maybe_unused]] const bool taken = [] {
  base::TakePartsFrom(RIGPROOF_BUILD);
  return true;
}();

}  // namespace
