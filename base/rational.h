// SPDX-License-Identifier: Apache-2.0
//
// Exact rates such as 60000/1001, and how they are written.

#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include <boost/rational.hpp>

#include "base/result.h"

namespace base {

/// Always in lowest terms, denominator positive.
using Rational = boost::rational<std::int64_t>;

/// Reads "60000/1001" or "30": digits only, numerator and denominator from 1
/// to 1,000,000,000. Anything else is kMalformed.
Result<Rational> ParseRational(std::string_view text);

/// "60000/1001", or "30" when the denominator is one.
std::string ToText(const Rational& rate);

/// Trade shorthand for people: "59.94", "30", "23.976".
std::string ToShortText(const Rational& rate);

inline double ToDouble(const Rational& value) {
  return static_cast<double>(value.numerator()) / static_cast<double>(value.denominator());
}

/// value x count, rounded once. For values as ParseRational() takes them and
/// counts below 2^32, here and below: nothing overflows then.
inline double ToDouble(const Rational& value, std::int64_t count) {
  return static_cast<double>(value.numerator() * count) / static_cast<double>(value.denominator());
}

/// value x count as the nearest whole number, halves up.
inline std::int64_t RoundedProduct(const Rational& value, std::int64_t count) {
  return (2 * value.numerator() * count + value.denominator()) / (2 * value.denominator());
}

/// Whether value x count is at most `limit`, exactly.
inline bool ProductAtMost(const Rational& value, std::int64_t count, std::int64_t limit) {
  return (value.numerator() * count + value.denominator() - 1) / value.denominator() <= limit;
}

}  // namespace base
