// SPDX-License-Identifier: Apache-2.0
//
// Text from strangers and text for people: parsing, safe printing, quantities.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace base {

/// Without leading and trailing ASCII white space.
std::string_view Trim(std::string_view text);

/// Parts between `separator`; empty parts are kept. "" gives one empty part.
std::vector<std::string_view> Split(std::string_view text, char separator);

/// Parts between runs of white space; none are empty.
std::vector<std::string_view> SplitWords(std::string_view text);

/// The whole of `text` as a number in `base` 10 or 16 ("0x" allowed for 16);
/// nothing when anything else is in it or it does not fit.
std::optional<std::int64_t> ParseInt(std::string_view text, int base = 10);
std::optional<double> ParseDouble(std::string_view text);

/// `text` made safe to show anywhere: control characters, bidirectional
/// overrides and bytes that are not UTF-8 become \xNN or \u{N}; cut with "..."
/// after `max_bytes`. Markup is left as it is: writers escape for their format.
std::string Printable(std::string_view text, std::size_t max_bytes = 200);

/// The candidate with the smallest edit distance to `word` (at most
/// max(2, length/3)), for "did you mean"; nothing when none is near.
std::optional<std::string> NearestWord(std::string_view word,
                                       const std::vector<std::string>& candidates);

/// "1.5 GB", "812 MB": decimal units, three significant digits.
std::string FormatBytes(double bytes);
/// "248 MB/s".
std::string FormatBytesPerSecond(double bytes_per_second);
/// "9.2 Mb/s".
std::string FormatBitsPerSecond(double bits_per_second);
/// "1 h 30 min", "42 s".
std::string FormatSeconds(double seconds);

}  // namespace base
