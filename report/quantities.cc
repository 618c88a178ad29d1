// SPDX-License-Identifier: Apache-2.0
//
// Figures as people read them, the same in every report.

#include "report/quantities.h"

#include <cmath>
#include <cstddef>
#include <set>

#include <fmt/format.h>

#include "base/text.h"

namespace report {
namespace {

/// Units that are things, one of which has no "s".
const std::set<std::string> kCounted = {"CPUs", "sessions", "displays", "cores", "frames"};

/// Headroom is told no further than this; what lies beyond has no more to say.
constexpr double kFurthestPercent = 999;

std::string GroupThousands(std::string digits) {
  for (std::size_t at = digits.size(); at > 3;) {
    at -= 3;
    digits.insert(at, ",");
  }
  return digits;
}

}  // namespace

std::string FormatCount(std::int64_t count) {
  const std::string digits = fmt::format("{}", count);
  return count < 0 ? "-" + GroupThousands(digits.substr(1)) : GroupThousands(digits);
}

std::string FormatNumber(double number) {
  if (!std::isfinite(number)) {
    return "not a number";
  }
  const double size = std::abs(number);
  if (size >= 1e15) {
    return fmt::format("{:.3g}", number);
  }
  if (size >= 99.95 || number == std::trunc(number)) {
    return FormatCount(std::llround(number));
  }
  return fmt::format("{:.{}f}", number, size >= 9.995 ? 1 : (size >= 0.995 ? 2 : 3));
}

std::string FormatQuantity(double value, const std::string& unit) {
  if (!std::isfinite(value)) {
    return FormatNumber(value);
  }
  if (unit == "B" || unit == "bytes") {
    return base::FormatBytes(value);
  }
  if (unit == "B/s" || unit == "bytes/s") {
    return base::FormatBytesPerSecond(value);
  }
  if (unit == "b/s" || unit == "bit/s" || unit == "bits/s") {
    return base::FormatBitsPerSecond(value);
  }
  if (value == 1 && kCounted.contains(unit)) {
    return "1 " + unit.substr(0, unit.size() - 1);
  }
  return FormatNumber(value) + (unit.empty() ? "" : " " + unit);
}

std::string FormatPercent(double percent) {
  if (!std::isfinite(percent)) {
    return "not a number";
  }
  if (std::abs(percent) >= kFurthestPercent) {
    return percent < 0 ? "< -999 %" : "> 999 %";
  }
  return std::abs(percent) < 9.95 && percent != std::trunc(percent)
             ? fmt::format("{:.1f} %", percent)
             : fmt::format("{:.0f} %", percent);
}

std::string FormatHeadroomPercent(double percent) {
  const double scale = std::abs(percent) >= 10 ? 1 : 10;
  const double down = std::floor(percent * scale + 1e-9) / scale;
  return FormatPercent(down == 0 ? 0 : down);  // never "-0 %"
}

std::string FormatLinkSpeed(double mbps) {
  return mbps >= 1000 ? fmt::format("{:g} Gb/s", mbps / 1000) : fmt::format("{:g} Mb/s", mbps);
}

std::string Plural(std::int64_t count, const std::string& word) {
  return FormatCount(count) + " " + word + (count == 1 ? "" : "s");
}

std::string YesNo(bool yes) {
  return yes ? "yes" : "no";
}

}  // namespace report
