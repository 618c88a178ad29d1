// SPDX-License-Identifier: Apache-2.0

#include "base/system/program_parts.h"

#include <system_error>

namespace base {
namespace {

std::filesystem::path& BuildFolder() {
  static std::filesystem::path folder;
  return folder;
}

}  // namespace

std::filesystem::path ProgramPart(const std::string& name, const std::filesystem::path& built_in) {
  if (!BuildFolder().empty()) {
    return BuildFolder() / built_in / name;
  }
  std::error_code failed;
  const auto here = std::filesystem::read_symlink("/proc/self/exe", failed).parent_path();
  for (auto place : {here / name, here.parent_path() / built_in / name}) {
    if (std::filesystem::exists(place, failed)) {
      return place;
    }
  }
  return (here / RIGPROOF_BIN_TO_LIBEXEC / "rigproof" / name).lexically_normal();
}

void TakePartsFrom(const std::filesystem::path& build_folder) {
  BuildFolder() = build_folder;
}

}  // namespace base
