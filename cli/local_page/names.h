// SPDX-License-Identifier: Apache-2.0
//
// Names of profiles and results as a request may give them.

#pragma once

#include <string_view>

namespace cli {

/// The result that lies in the folder itself and not in a folder below it.
inline constexpr std::string_view kResultHere = ".";

inline constexpr std::size_t kLongestName = 80;  // bytes
inline constexpr std::string_view kNameForm =
    "1 to 80 bytes without slashes and control characters, no dot, dash or space in front and no "
    "dot or space behind";

/// Whether it can be the name of one file or folder of ours and nothing else: never a path.
bool IsName(std::string_view name);
/// A name of a result: also kResultHere.
bool IsResultName(std::string_view name);
/// Not that of a file that results are written to.
bool IsProfileName(std::string_view name);

}  // namespace cli
