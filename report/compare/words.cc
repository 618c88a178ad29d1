// SPDX-License-Identifier: Apache-2.0

#include "report/compare/words.h"

#include <cmath>

#include <fmt/format.h>

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

}  // namespace report
