// SPDX-License-Identifier: Apache-2.0

#include "base/text.h"

#include <cstdint>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace {

using testing::ElementsAre;
using testing::IsEmpty;

TEST(Trim, TakesWhiteSpaceFromBothEndsOnly) {
  EXPECT_EQ(base::Trim(" \t a b\r\n"), "a b");
  EXPECT_EQ(base::Trim(" \n "), "");
  EXPECT_EQ(base::Trim(""), "");
}

TEST(Split, KeepsEmptyParts) {
  EXPECT_THAT(base::Split("a,,b,", ','), ElementsAre("a", "", "b", ""));
  EXPECT_THAT(base::Split("", ','), ElementsAre(""));
}

TEST(SplitWords, LeavesEmptyPartsOut) {
  EXPECT_THAT(base::SplitWords("  cpu  1 2\t3\n"), ElementsAre("cpu", "1", "2", "3"));
  EXPECT_THAT(base::SplitWords(" \n"), IsEmpty());
}

TEST(ParseInt, TakesTheWholeTextOrNothing) {
  EXPECT_EQ(base::ParseInt("-42"), -42);
  EXPECT_EQ(base::ParseInt("9223372036854775807"), INT64_MAX);
  EXPECT_EQ(base::ParseInt("0x1d6b", 16), 0x1d6b);
  EXPECT_EQ(base::ParseInt("1d6b", 16), 0x1d6b);
  for (const char* text : {"", " 1", "1 ", "1x", "+1", "9223372036854775808", "1.0", "0x10"}) {
    EXPECT_FALSE(base::ParseInt(text)) << text;
  }
  for (const char* text : {"0x", "0x-1", "0x0x1", "g"}) {
    EXPECT_FALSE(base::ParseInt(text, 16)) << text;
  }
}

TEST(ParseDouble, TakesFiniteNumbersOnly) {
  EXPECT_EQ(base::ParseDouble("-2.5e3"), -2500.0);
  for (const char* text : {"", "nan", "inf", "1e999", "1,5", "1.5 "}) {
    EXPECT_FALSE(base::ParseDouble(text)) << text;
  }
}

TEST(Printable, ShowsControlCharactersInsteadOfSendingThem) {
  EXPECT_EQ(base::Printable("a\x1b[31mb\nc"), "a\\x1B[31mb\\x0Ac");
  EXPECT_EQ(base::Printable(std::string("a\0b", 3)), "a\\x00b");
  EXPECT_EQ(base::Printable("\x7f"), "\\x7F");
}

TEST(Printable, ShowsWhatTurnsOrHidesText) {
  EXPECT_EQ(base::Printable("a\u202Eb"), "a\\u{202E}b");  // right-to-left override
  EXPECT_EQ(base::Printable("\u2066x"), "\\u{2066}x");    // isolate
  EXPECT_EQ(base::Printable("a\u200Bb"), "a\\u{200B}b");  // zero-width space
  EXPECT_EQ(base::Printable("\uFEFF"), "\\u{FEFF}");
  EXPECT_EQ(base::Printable("\u009B31m"), "\\u{9B}31m");  // one-character terminal escape
}

// Ill-formed sequences of RFC 3629, section 3 and 10.
TEST(Printable, ShowsBytesThatAreNotUtf8) {
  EXPECT_EQ(base::Printable("\xC0\xAF"), "\\xC0\\xAF");                    // overlong slash
  EXPECT_EQ(base::Printable("\xE0\x80\xAF"), "\\xE0\\x80\\xAF");           // overlong, three bytes
  EXPECT_EQ(base::Printable("\xED\xA0\x80"), "\\xED\\xA0\\x80");           // surrogate
  EXPECT_EQ(base::Printable("\xF4\x90\x80\x80"), "\\xF4\\x90\\x80\\x80");  // above U+10FFFF
  EXPECT_EQ(base::Printable("\xE2\x82"), "\\xE2\\x82");                    // cut short
}

TEST(Printable, LeavesOrdinaryTextAndMarkupAsItIs) {
  EXPECT_EQ(base::Printable("Kamera Süd <b> \U0001F3A5"), "Kamera Süd <b> \U0001F3A5");
}

TEST(Printable, CutsLongTextBetweenCharacters) {
  EXPECT_EQ(base::Printable("abcdef", 3), "abc...");
  EXPECT_EQ(base::Printable("abc", 3), "abc");
  EXPECT_EQ(base::Printable("aü", 2), "a...");
  EXPECT_LE(base::Printable(std::string(100'000, '\x01')).size(), 203U);
}

TEST(NearestWord, NamesTheClosestCandidateWithinReach) {
  const std::vector<std::string> keys = {"bitrate_kbps", "duration_minutes", "rate"};
  EXPECT_EQ(base::NearestWord("bitrate_kpbs", keys), "bitrate_kbps");
  EXPECT_EQ(base::NearestWord("rates", keys), "rate");
  EXPECT_FALSE(base::NearestWord("colour", keys));
  EXPECT_FALSE(base::NearestWord(std::string(1'000'000, 'x'), keys));
  EXPECT_FALSE(base::NearestWord("x", {}));
}

TEST(FormatBytes, UsesDecimalUnitsWithThreeDigits) {
  EXPECT_EQ(base::FormatBytes(0), "0 B");
  EXPECT_EQ(base::FormatBytes(999), "999 B");
  EXPECT_EQ(base::FormatBytes(1000), "1.00 kB");
  EXPECT_EQ(base::FormatBytes(812e6), "812 MB");
  EXPECT_EQ(base::FormatBytes(999.9e6), "1.00 GB");
  EXPECT_EQ(base::FormatBytes(2e12), "2.00 TB");
  EXPECT_EQ(base::FormatBytesPerSecond(248e6), "248 MB/s");
  EXPECT_EQ(base::FormatBitsPerSecond(9.2e6), "9.20 Mb/s");
}

TEST(FormatSeconds, UsesTheUnitsPeopleUse) {
  EXPECT_EQ(base::FormatSeconds(1.25), "1.2 s");
  EXPECT_EQ(base::FormatSeconds(42), "42 s");
  EXPECT_EQ(base::FormatSeconds(90), "1 min 30 s");
  EXPECT_EQ(base::FormatSeconds(5400), "1 h 30 min");
  EXPECT_EQ(base::FormatSeconds(7200), "2 h");
}

}  // namespace
