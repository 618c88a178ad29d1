// SPDX-License-Identifier: Apache-2.0
//
// Where the programs are that this one runs or hands over to.

#pragma once

#include <filesystem>
#include <string>

namespace base {

/// A program of ours, found from the place of the running one: beside it, where the build puts it
/// (`built_in` is its folder there), or where it is installed.
std::filesystem::path ProgramPart(const std::string& name, const std::filesystem::path& built_in);

/// For programs that lie deeper in the build, as tests do: parts are those below this folder.
/// Before any thread is started.
void TakePartsFrom(const std::filesystem::path& build_folder);

}  // namespace base
