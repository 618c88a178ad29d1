// SPDX-License-Identifier: Apache-2.0

#include "base/rational.h"

#include <string>

#include <gtest/gtest.h>

namespace {

TEST(ParseRational, ReadsRatesInLowestTerms) {
  EXPECT_EQ(*base::ParseRational("60000/1001"), base::Rational(60000, 1001));
  EXPECT_EQ(*base::ParseRational("30"), base::Rational(30));
  EXPECT_EQ(*base::ParseRational("50/2"), base::Rational(25));
  EXPECT_EQ(*base::ParseRational("1000000000/1"), base::Rational(1'000'000'000));
}

TEST(ParseRational, RefusesWhatIsNoRate) {
  for (const char* text :
       {"", "/", "30/", "/1001", "0", "30/0", "-30", "+30", "29.97", "30 ", " 30", "30/1001/1",
        "1e3", "1000000001", "99999999999999999999", "0x1e", "60000:1001"}) {
    const auto rate = base::ParseRational(text);
    ASSERT_FALSE(rate) << text;
    EXPECT_EQ(rate.error().kind, base::ErrorKind::kMalformed);
  }
  EXPECT_FALSE(base::ParseRational(std::string("30\0", 3)));
}

TEST(ToText, WritesWhatParseRationalReads) {
  EXPECT_EQ(base::ToText(base::Rational(60000, 1001)), "60000/1001");
  EXPECT_EQ(base::ToText(base::Rational(25)), "25");
}

// How the trade writes these rates: common practice.
TEST(ToShortText, WritesTheTradesShorthand) {
  EXPECT_EQ(base::ToShortText(base::Rational(60000, 1001)), "59.94");
  EXPECT_EQ(base::ToShortText(base::Rational(30000, 1001)), "29.97");
  EXPECT_EQ(base::ToShortText(base::Rational(24000, 1001)), "23.976");
  EXPECT_EQ(base::ToShortText(base::Rational(25)), "25");
  EXPECT_EQ(base::ToShortText(base::Rational(25, 2)), "12.5");
}

TEST(ToDouble, Divides) {
  EXPECT_DOUBLE_EQ(base::ToDouble(base::Rational(30000, 1001)), 29.97002997002997);
}

TEST(Products, AreExactUntilTheLastStep) {
  const base::Rational ntsc(60000, 1001);
  EXPECT_DOUBLE_EQ(base::ToDouble(ntsc, 1001), 60000);
  EXPECT_EQ(base::RoundedProduct(ntsc, 1001), 60000);
  EXPECT_EQ(base::RoundedProduct(base::Rational(1, 2), 3), 2);  // 1.5
  EXPECT_EQ(base::RoundedProduct(base::Rational(1, 3), 1), 0);
  EXPECT_TRUE(base::ProductAtMost(ntsc, 1001, 60000));
  EXPECT_FALSE(base::ProductAtMost(ntsc, 1001, 59999));
  EXPECT_FALSE(base::ProductAtMost(base::Rational(60001, 1001), 1001, 60000));
}

TEST(Products, HoldTheLargestRateOfTheLargestRaster) {
  const base::Rational fastest(1000000000, 1);
  constexpr std::int64_t kLargest = std::int64_t{8192} * 8192;
  EXPECT_TRUE(base::ProductAtMost(fastest, kLargest, 67108864000000000));
  EXPECT_FALSE(base::ProductAtMost(fastest, kLargest, 67108863999999999));
  EXPECT_EQ(base::RoundedProduct(fastest, kLargest), 67108864000000000);
}

}  // namespace
