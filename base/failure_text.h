// SPDX-License-Identifier: Apache-2.0
//
// What people are told of an exception.

#pragma once

#include <exception>
#include <string>

#include "base/text.h"

namespace base {

/// "failed: " and the exception's own words.
inline std::string FailureText(const std::exception& failure) {
  return "failed: " + Printable(failure.what());
}

}  // namespace base
