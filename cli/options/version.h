// SPDX-License-Identifier: Apache-2.0
//
// The versions of the program and of the libraries that its figures rest on.

#pragma once

#include <string>

namespace cli {

/// "0.1.0".
std::string ProgramVersion();
/// Program, FFmpeg libraries and hwloc as they are at run time; a line each.
std::string VersionText();

}  // namespace cli
