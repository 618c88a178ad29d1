// SPDX-License-Identifier: Apache-2.0

#include "report/compare/words.h"

#include <cmath>

#include <fmt/format.h>

#include "report/compare/compare.h"
#include "report/compare/figures.h"
#include "report/words/quantities.h"

namespace report {
namespace {

bool IsRatio(const ComparedFigure& figure) {
  return figure.unit == kEventsPerHour;
}

/// In a table a long unit would cost a column.
std::string Quantity(double value, const std::string& unit) {
  if (unit == "sources") {
    return FormatNumber(value);
  }
  if (unit == kEventsPerHour) {
    return FormatNumber(value) + "/h";
  }
  return FormatQuantity(value, unit == "x real time" ? "x" : unit);
}

std::string Signed(double value, const std::string& unit) {
  constexpr double kShownAsNothing = 0.05;
  if (unit == "%") {
    const double points = std::abs(value) < kShownAsNothing ? 0 : value;
    return fmt::format("{:+.1f} points", points);
  }
  return (value < 0 ? "-" : "+") + Quantity(std::abs(value), unit);
}

}  // namespace

std::string FigureName(const ComparedFigure& figure) {
  return figure.item.empty() ? figure.what : figure.what + ": " + figure.item;
}

std::string FigureValue(const ComparedFigure& figure, const std::optional<double>& value) {
  if (!value) {
    return "not known";
  }
  return figure.group == "headroom" ? FormatHeadroomPercent(*value) : Quantity(*value, figure.unit);
}

std::string ChangeText(const ComparedFigure& figure) {
  if (!figure.change) {
    return "-";
  }
  return IsRatio(figure) ? "x " + FormatNumber(*figure.change)
                         : Signed(*figure.change, figure.unit);
}

std::string IntervalText(const ComparedFigure& figure) {
  if (!figure.low) {
    return "";
  }
  if (IsRatio(figure)) {
    return fmt::format("x {} to {}", FormatNumber(*figure.low),
                       figure.high ? "x " + FormatNumber(*figure.high) : "without end");
  }
  return Signed(*figure.low, figure.unit) + " to " +
         (figure.high ? Signed(*figure.high, figure.unit) : "without end");
}

std::string ChanceText(const ComparedFigure& figure) {
  constexpr double kLeastShown = 0.001;
  if (!figure.p_value) {
    return "";
  }
  return *figure.p_value < kLeastShown ? "below 0.001" : fmt::format("{:.2g}", *figure.p_value);
}

std::string TightestText(const RankedResult& result) {
  if (!result.tightest_spare) {
    return "not known";
  }
  return fmt::format(
      "{}, {} (keep {})", result.tightest,
      FormatHeadroomPercent(*result.tightest_spare, result.tightest_keep.value_or(0)),
      FormatMarginPercent(result.tightest_keep.value_or(0)));
}

std::string SpeedText(const RankedResult& result) {
  if (!result.speed) {
    return "not run";
  }
  return result.speed_low ? fmt::format("{:.2f} ({:.2f} to {:.2f})", *result.speed,
                                        *result.speed_low, *result.speed_high)
                          : fmt::format("{:.2f}", *result.speed);
}

std::string LostText(const RankedResult& result) {
  if (!result.lost || !result.lost_upper || !std::isfinite(*result.lost_upper)) {
    return "not run";
  }
  return fmt::format("{}, at most {} an hour", FormatCount(*result.lost),
                     FormatAtMost(*result.lost_upper));
}

std::string AgainstText(const RankedResult& result) {
  if (result.rank <= 1) {
    return "";
  }
  switch (result.against_above) {
    case Standing::kBetter:
      return "faster than the one above";
    case Standing::kWorse:
      return "slower than the one above";
    case Standing::kSame:
    case Standing::kUnsure:
    case Standing::kNotTold:
      break;
  }
  return StandingText(result.against_above);
}

}  // namespace report
