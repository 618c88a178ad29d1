// SPDX-License-Identifier: Apache-2.0
//
// Reading<T>: what a probe could read, or the reason why it is unknown.

#pragma once

#include <optional>
#include <string>
#include <utility>

#include "base/result.h"

namespace base {

/// A value read from the machine. An unknown reading carries its reason and
/// never a default: reports show "unknown: <reason>".
template <typename T>
class Reading {
 public:
  Reading() : why_unknown_("not read") {}
  Reading(T value) : value_(std::move(value)) {}  // NOLINT(google-explicit-constructor)
  Reading(const Result<T>& result) {              // NOLINT(google-explicit-constructor)
    if (result) {
      value_ = *result;
    } else {
      why_unknown_ = result.error().where.empty()
                         ? result.error().detail
                         : result.error().where + ": " + result.error().detail;
    }
  }

  // NOLINTNEXTLINE(performance-unnecessary-value-param): it is moved; clang-tidy 14 does not see it
  static Reading Unknown(std::string why) {
    Reading reading;
    reading.why_unknown_ = std::move(why);
    return reading;
  }

  bool known() const { return value_.has_value(); }
  explicit operator bool() const { return known(); }
  const T& operator*() const { return *value_; }
  const T* operator->() const { return &*value_; }
  T value_or(T fallback) const { return value_.value_or(std::move(fallback)); }
  const std::string& why_unknown() const { return why_unknown_; }

  bool operator==(const Reading&) const = default;

 private:
  std::optional<T> value_;
  std::string why_unknown_;
};

}  // namespace base
