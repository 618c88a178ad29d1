// SPDX-License-Identifier: Apache-2.0
//
// Found from the place of the running program.

#include "cli/inner_program.h"

#include <system_error>

namespace cli {

std::filesystem::path InnerProgram(const std::string& name, const std::string& built_in) {
  std::error_code failed;
  const auto here = std::filesystem::read_symlink("/proc/self/exe", failed).parent_path();
  const auto installed = here / RIGPROOF_BIN_TO_LIBEXEC / "rigproof" / name;
  auto built = here.parent_path() / built_in / name;
  if (!std::filesystem::exists(installed, failed) && std::filesystem::exists(built, failed)) {
    return built;
  }
  return installed.lexically_normal();
}

}  // namespace cli
