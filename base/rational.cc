// SPDX-License-Identifier: Apache-2.0

#include "base/rational.h"

#include <charconv>

#include <fmt/format.h>

namespace base {
namespace {

constexpr std::int64_t kLargest = 1'000'000'000;

bool ReadPositive(std::string_view digits, std::int64_t& value) {
  const auto [end, errc] = std::from_chars(digits.data(), digits.data() + digits.size(), value);
  return errc == std::errc() && end == digits.data() + digits.size() && value >= 1 &&
         value <= kLargest && digits.front() >= '0' && digits.front() <= '9';
}

}  // namespace

Result<Rational> ParseRational(std::string_view text) {
  const auto slash = text.find('/');
  std::int64_t numerator = 0;
  std::int64_t denominator = 1;
  if (!ReadPositive(text.substr(0, slash), numerator) ||
      (slash != std::string_view::npos && !ReadPositive(text.substr(slash + 1), denominator))) {
    return Error{ErrorKind::kMalformed, "", "not a rate such as 30 or 60000/1001"};
  }
  return Rational(numerator, denominator);
}

std::string ToText(const Rational& rate) {
  return rate.denominator() == 1 ? fmt::format("{}", rate.numerator())
                                 : fmt::format("{}/{}", rate.numerator(), rate.denominator());
}

std::string ToShortText(const Rational& rate) {
  if (rate.denominator() == 1) {
    return fmt::format("{}", rate.numerator());
  }
  std::string text = fmt::format("{:.3f}", ToDouble(rate));
  while (text.back() == '0') {
    text.pop_back();
  }
  // 59.940 and 29.970 are written with two decimals by the trade, 23.976 with three.
  return text;
}

}  // namespace base
