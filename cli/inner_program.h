// SPDX-License-Identifier: Apache-2.0
//
// Where the programs lie that this one starts.

#pragma once

#include <filesystem>
#include <string>

namespace cli {

/// Beside this program as installed (libexec/rigproof), else as built in the build's folder
/// `built_in`. When neither is there the installed place is given, so that its absence names it.
std::filesystem::path InnerProgram(const std::string& name, const std::string& built_in);

}  // namespace cli
