// SPDX-License-Identifier: Apache-2.0
//
// What a stored result calls itself.

#pragma once

namespace report::stored {

inline constexpr const char* kResultFormat = "rigproof-result";
inline constexpr int kResultVersion = 1;

}  // namespace report::stored
