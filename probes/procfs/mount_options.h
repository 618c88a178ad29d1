// SPDX-License-Identifier: Apache-2.0
//
// What of a mount may be shown, stored and captured: many name servers, people and passwords.

#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace probes {

/// Whether `text` is of letters, digits and `marks`, at least one and at most `longest` of them.
bool IsMadeOf(std::string_view text, std::string_view marks, std::size_t longest);

/// An option as it may be shown: whole where its kind is known to say something of how a disk is
/// written, or of how large it is; the key alone of any other; empty where it has no plain key.
std::string ShownMountOption(std::string_view option);

/// Whether a source names nothing but itself: "tmpfs", "overlay", "cgroup2".
bool IsBareWord(std::string_view source);

}  // namespace probes
