// SPDX-License-Identifier: Apache-2.0
//
// Figures as people read them, the same in every report.

#include "report/words/quantities.h"

#include <array>
#include <cmath>
#include <cstddef>
#include <set>
#include <string_view>

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

/// What the product of a figure and a power of ten is off by at most.
constexpr double kNoise = 1e-6;

/// Frames of a bus are told in tenths: half a microsecond decides there.
constexpr std::string_view kMicroseconds = "us";
constexpr double kMicrosecondStep = 0.1;

/// A value in steps of its last digit that is shown: tenths of microseconds, else three digits.

template <typename Whole>
double InShownSteps(double value, const std::string& unit, const Whole& whole) {
  const bool scaled = unit.starts_with("B") || unit.starts_with("b");  // bytes and bits
  const double size = std::abs(value);
  if (!std::isfinite(value) || size >= 1e15) {
    return value;
  }
  double step = size < 1 ? 1e-3 : std::pow(10, std::floor(std::log10(size)) - 2);
  if (scaled ? size < 1000 : size >= 1000) {
    step = 1;
  }
  if (unit == kMicroseconds) {
    step = kMicrosecondStep;
  }
  const double steps = value / step;
  const double near = std::round(steps);
  return (std::abs(steps - near) < kNoise ? near : whole(steps)) * step;
}

/// Percentages are told apart by 0.0001.
constexpr int kMostDigits = 4;
constexpr double kTold = 1e4;
/// From here on whole percents say enough.
constexpr double kWholeFrom = 10;

bool Tellable(double percent) {
  return std::isfinite(percent) && std::abs(percent) < kFurthestPercent;
}

double UpToTold(double percent) {
  return std::ceil(percent * kTold - kNoise) / kTold;
}

/// "24.98 %": so many decimals at most, no zeros at their end.
std::string WithDigits(double value, int decimals) {
  std::string text = fmt::format("{:.{}f}", value == 0 ? 0 : value, decimals);  // never "-0 %"
  if (decimals > 0) {
    text.erase(text.find_last_not_of('0') + 1);
    text.erase(text.find_last_not_of('.') + 1);
  }
  return text + " %";
}

/// Down to the fewest digits with which it is judged as it is.
template <typename Judged>
std::string RoundedDown(double percent, const Judged& judged) {
  if (!Tellable(percent)) {
    return FormatPercent(percent);
  }
  const double told = AsTold(percent);
  for (int decimals = std::abs(told) >= kWholeFrom ? 0 : 1;; ++decimals) {
    const double scale = std::pow(10, decimals);
    const double down = std::floor(told * scale + kNoise) / scale;
    if (decimals == kMostDigits || judged(down) == judged(told)) {
      return WithDigits(down, decimals);
    }
  }
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
  if (unit == kMicroseconds) {
    return fmt::format("{:g} us", std::round(value / kMicrosecondStep) * kMicrosecondStep);
  }
  if (value == 1 && kCounted.contains(unit)) {
    return "1 " + unit.substr(0, unit.size() - 1);
  }
  return FormatNumber(value) + (unit.empty() ? "" : " " + unit);
}

std::string FormatNeeded(double value, const std::string& unit) {
  return FormatQuantity(InShownSteps(value, unit, [](double steps) { return std::ceil(steps); }),
                        unit);
}

std::string FormatAvailable(double value, const std::string& unit) {
  return FormatQuantity(InShownSteps(value, unit, [](double steps) { return std::floor(steps); }),
                        unit);
}

std::string FormatAtMost(double number) {
  return FormatNumber(InShownSteps(number, "", [](double steps) { return std::ceil(steps); }));
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

double AsTold(double percent) {
  return std::isfinite(percent) ? std::floor(percent * kTold + 0.5) / kTold : percent;
}

std::string FormatHeadroomPercent(double percent, double margin) {
  if (percent <= -kFurthestPercent) {
    return "none";
  }
  return RoundedDown(percent, [&](double value) { return value >= UpToTold(margin); });
}

std::string FormatDroppedAtPercent(double percent, double margin) {
  return RoundedDown(percent, [&](double value) { return value > UpToTold(margin); });
}

std::string FormatMarginPercent(double percent) {
  return std::isfinite(percent) ? WithDigits(UpToTold(percent), kMostDigits)
                                : FormatPercent(percent);
}

std::string FormatUsePercent(double percent) {
  if (!Tellable(percent)) {
    return FormatPercent(percent);
  }
  const double scale = std::abs(percent) >= kWholeFrom ? 1 : 10;
  const double up = std::ceil(AsTold(percent) * scale - kNoise) / scale;
  return WithDigits(up, 1);
}

std::string FormatSpare(double percent, double margin, double demand, double capacity,
                        const std::string& unit) {
  if (percent > -kFurthestPercent) {
    return FormatHeadroomPercent(percent, margin);
  }
  // The resource's own name says what it is counted in.
  const bool counted = kCounted.contains(unit);
  const std::string needed = counted ? FormatNumber(demand) : FormatNeeded(demand, unit);
  const std::string available = counted ? FormatNumber(capacity) : FormatAvailable(capacity, unit);
  return fmt::format("{} needed, {} available", needed, capacity > 0 ? available : "none");
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

std::string Ordinal(std::size_t number) {
  constexpr std::array<const char*, 10> kWords = {"first", "second",  "third",  "fourth", "fifth",
                                                  "sixth", "seventh", "eighth", "ninth",  "tenth"};
  if (number >= 1 && number <= kWords.size()) {
    return kWords[number - 1];
  }
  const bool teen = number / 10 % 10 == 1;
  constexpr std::array<const char*, 4> kEndings = {"th", "st", "nd", "rd"};
  return fmt::format("{}{}", number, teen || number % 10 > 3 ? "th" : kEndings[number % 10]);
}

}  // namespace report
