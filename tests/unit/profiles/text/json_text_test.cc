// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/json_text.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace profiles {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

std::string WhereOf(std::string_view text) {
  const auto json = ParseJsonText(text, "p.json");
  return json ? "read" : json.error().where;
}

TEST(ParseJsonText, CountsLineAndColumnOfASyntaxError) {
  EXPECT_EQ(WhereOf("{\n  \"a\": 1,\n  \"b\" 2\n}"), "p.json: line 3, column 7");
  EXPECT_EQ(WhereOf("}"), "p.json: line 1, column 1");
}

TEST(ParseJsonText, SaysWhatBrokeInOneLine) {
  const auto json = ParseJsonText("{\"a\": \"x\ny\"}", "p.json");
  ASSERT_FALSE(json);
  EXPECT_EQ(json.error().kind, base::ErrorKind::kMalformed);
  EXPECT_THAT(json.error().detail, HasSubstr("control character"));
  EXPECT_THAT(json.error().detail, Not(HasSubstr("\n")));
}

TEST(ParseJsonText, DoesNotRepeatATextThatItWasReading) {
  for (const char* const text :
       {"{\"url\": \"rtmp://192.0.2.1/wq7f3k29xa\n\"}", "{\"url\": \"rtmp://192.0.2.1/wq7f3k29xa",
        "{\"url\": \"wq7f3k29xa\\q\"}", "{\"a\": 1 \"wq7f3k29xa\"}", "\"wq7f3k29xa\xff"}) {
    const auto json = ParseJsonText(text, "p.json");
    ASSERT_FALSE(json) << text;
    EXPECT_THAT(json.error().detail, Not(HasSubstr("wq7f3k29xa"))) << text;
  }
}

TEST(ParseJsonText, RefusesBytesThatAreNotUtf8) {
  EXPECT_EQ(WhereOf("{\"a\": \"\xff\"}"), "p.json: line 1, column 8");
}

TEST(ParseJsonText, RefusesTextBehindTheValue) {
  EXPECT_EQ(WhereOf("{} {}"), "p.json: line 1, column 4");
}

TEST(ParseJsonText, RefusesANumberBeyondDouble) {
  const auto json = ParseJsonText("[1e999]", "p.json");
  ASSERT_FALSE(json);
  EXPECT_THAT(json.error().detail, HasSubstr("number overflow"));
}

TEST(ParseJsonText, RefusesAKeyThatStandsTwice) {
  const auto json = ParseJsonText(R"({"a": [0, {"b": 1, "b": 2}]})", "p.json");
  ASSERT_FALSE(json);
  EXPECT_EQ(json.error().where, "p.json: /a/1/b");
  EXPECT_THAT(json.error().detail, HasSubstr("twice"));
}

TEST(ParseJsonText, AllowsTheSameKeyInTwoObjects) {
  EXPECT_EQ(WhereOf(R"([{"a": 1}, {"a": {"a": 2}}])"), "read");
}

TEST(ParseJsonText, AllowsSixteenLevelsAndNoMore) {
  EXPECT_EQ(WhereOf(std::string(16, '[') + std::string(16, ']')), "read");
  const auto json = ParseJsonText(std::string(17, '['), "p.json");
  ASSERT_FALSE(json);
  EXPECT_EQ(json.error().detail, "nested deeper than 16 levels");
}

TEST(ParseJsonText, OutlivesABottomlessFile) {
  EXPECT_NE(WhereOf(std::string(1 << 20, '[')), "read");
}

TEST(PointerStep, EscapesAsRfc6901Says) {
  // RFC 6901 section 5: "/a~1b" is the key "a/b", "/m~0n" the key "m~n".
  EXPECT_EQ(PointerStep("", "a/b"), "/a~1b");
  EXPECT_EQ(PointerStep("", "m~n"), "/m~0n");
}

TEST(PointerStep, ShowsControlCharactersAsText) {
  EXPECT_EQ(PointerStep("/x", "a\nb"), "/x/a\\x0Ab");
}

}  // namespace
}  // namespace profiles
