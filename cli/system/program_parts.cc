// SPDX-License-Identifier: Apache-2.0

#include "cli/system/program_parts.h"

#include "base/system/program_parts.h"

namespace cli {

std::filesystem::path CostsProgram() {
  return base::ProgramPart("rigproof-costs", "bench");
}

std::filesystem::path MediaProgram() {
  return base::ProgramPart("rigproof-media", "cli");
}

}  // namespace cli
