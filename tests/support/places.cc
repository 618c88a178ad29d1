// SPDX-License-Identifier: Apache-2.0
//
// Linked into every test program: the only source that knows paths of this build, so that all
// others compile to the same in every clone.

#include "tests/support/places.h"

#include "base/system/program_parts.h"

namespace support {
namespace {

// What a test runs of ours is what was built with it.
[[maybe_unused]] const bool kTaken = [] {
  base::TakePartsFrom(RIGPROOF_BUILD);
  return true;
}();

}  // namespace

const std::filesystem::path& Fixtures() {
  static const std::filesystem::path folder = RIGPROOF_FIXTURES;
  return folder;
}

const std::filesystem::path& Shared() {
  static const std::filesystem::path folder = RIGPROOF_SHARED;
  return folder;
}

}  // namespace support
