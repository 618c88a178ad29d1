// SPDX-License-Identifier: Apache-2.0
//
// ExpectGolden: compares text with a stored file; UPDATE_GOLDENS=1 rewrites it.

#pragma once

#include <string>
#include <string_view>

namespace tests {

/// Compares `actual` with tests/golden/<name>, byte for byte. The first
/// differing line is shown. With UPDATE_GOLDENS=1 in the environment the file
/// is rewritten and the test fails once, so an update is never silent.
void ExpectGolden(std::string_view name, const std::string& actual);

}  // namespace tests
