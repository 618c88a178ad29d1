// SPDX-License-Identifier: Apache-2.0
//
// Found from the place of the running program.

#include "cli/program_parts.h"

#include <string>
#include <system_error>

namespace cli {
namespace {

/// Beside the running program, or where the build put it, or where it is installed.
std::filesystem::path Part(const std::string& name, const std::filesystem::path& built_in) {
  std::error_code failed;
  const auto here = std::filesystem::read_symlink("/proc/self/exe", failed).parent_path();
  for (auto place : {here / name, here.parent_path() / built_in / name}) {
    if (std::filesystem::exists(place, failed)) {
      return place;
    }
  }
  return (here / RIGPROOF_BIN_TO_LIBEXEC / "rigproof" / name).lexically_normal();
}

}  // namespace

std::filesystem::path CostsProgram() {
  return Part("rigproof-costs", "bench");
}

std::filesystem::path MediaProgram() {
  return Part("rigproof-media", "cli");
}

}  // namespace cli
