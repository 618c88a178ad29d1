// SPDX-License-Identifier: Apache-2.0
//
// Figures as people read them, the same in every report.

#pragma once

#include <cstdint>
#include <string>

namespace report {

/// "1,234,567".
std::string FormatCount(std::int64_t count);
/// Three significant digits, thousands grouped: "0.25", "12.5", "1,234".
std::string FormatNumber(double number);
/// A number in the unit of a Headroom row; byte and bit units are scaled.
std::string FormatQuantity(double value, const std::string& unit);
/// "12 %"; one decimal below ten.
std::string FormatPercent(double percent);
/// Headroom, rounded down: what reads as kept is kept.
std::string FormatHeadroomPercent(double percent);

/// "480 Mb/s", "5 Gb/s": the nominal speed of a link.
std::string FormatLinkSpeed(double mbps);
/// "1 frame", "2 frames".
std::string Plural(std::int64_t count, const std::string& word);
/// "yes" or "no".
std::string YesNo(bool yes);

}  // namespace report
