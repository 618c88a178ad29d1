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
/// The same with what is needed rounded up, and what is available down: beside each other they do
/// not read as if one fitted the other where it does not.
std::string FormatNeeded(double value, const std::string& unit);
std::string FormatAvailable(double value, const std::string& unit);
/// A number that is said to be the most there is: FormatNumber() rounded up.
std::string FormatAtMost(double number);
/// "12 %"; one decimal below ten.
std::string FormatPercent(double percent);
/// The nearest of the percentages that are told apart: 0.0001 %. What is judged is rounded so
/// first, and all writers agree.
double AsTold(double percent);
/// Headroom, rounded down, with as many digits as it takes to stand on the same side of its margin
/// as it does: what reads as kept is kept, and the other way round.
/// "none" where there is nothing, or next to nothing, of what is needed.
std::string FormatHeadroomPercent(double percent, double margin = 0);
/// The same for a line of its own: there it is "4 needed, none available".
std::string FormatSpare(double percent, double margin, double demand, double capacity,
                        const std::string& unit);
/// The end of an interval of headroom at which frames were dropped: rounded down too, and it reads
/// as above the margin only where it is.
std::string FormatDroppedAtPercent(double percent, double margin = 0);
/// All digits of a margin, up where there are more than are told apart.
std::string FormatMarginPercent(double percent);
/// Use of what there is, rounded up: what reads as within it is.
std::string FormatUsePercent(double percent);

/// "480 Mb/s", "5 Gb/s": the nominal speed of a link.
std::string FormatLinkSpeed(double mbps);
/// "1 frame", "2 frames".
std::string Plural(std::int64_t count, const std::string& word);
/// "yes" or "no".
std::string YesNo(bool yes);

/// "first", "second" ... "tenth", then "11th" ... "21st".
std::string Ordinal(std::size_t number);

}  // namespace report
