// SPDX-License-Identifier: Apache-2.0
//
// Found from the place of the running program.

#include "cli/costs_program.h"

#include <system_error>

namespace cli {

std::filesystem::path CostsProgram() {
  constexpr const char* kName = "rigproof-costs";
  std::error_code failed;
  const auto here = std::filesystem::read_symlink("/proc/self/exe", failed).parent_path();
  const auto installed = here / RIGPROOF_BIN_TO_LIBEXEC / "rigproof" / kName;
  auto built = here.parent_path() / "bench" / kName;
  if (!std::filesystem::exists(installed, failed) && std::filesystem::exists(built, failed)) {
    return built;
  }
  return installed.lexically_normal();
}

}  // namespace cli
