// SPDX-License-Identifier: Apache-2.0
//
// The bar as text, and what each style writes.

#include "cli/system/progress.h"

#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace cli {
namespace {

using testing::HasSubstr;
using testing::StartsWith;

TEST(ProgressBar, ShowsShareElapsedAndRemaining) {
  EXPECT_EQ(ProgressBar("rehearsal", 10, 40, "0 dropped", 120),
            "[######..................] rehearsal  10 s of 40 s, 30 s left, 0 dropped");
}

TEST(ProgressBar, StaysFullWhenItTakesLonger) {
  EXPECT_EQ(ProgressBar("disk", 9, 8, "", 120), "[########################] disk  9 s of 8 s");
}

TEST(ProgressBar, HasNoBarWithoutAnExpectedTime) {
  EXPECT_EQ(ProgressBar("codecs", 3.9, 0, "", 120), "codecs  3 s");
}

TEST(ProgressBar, LeavesTheLastColumnFree) {
  EXPECT_EQ(ProgressBar("rehearsal", 10, 40, "", 20).size(), 19U);
  EXPECT_EQ(ProgressBar("rehearsal", 10, 40, "", 0).size(), 1U);
}

TEST(ProgressDisplay, LinesHaveNoControlCharacters) {
  std::string written;
  {
    ProgressDisplay display(ProgressStyle::kLines,
                            [&written](std::string_view text) { written += text; });
    display.Begin("disk", 8);
    display.Note("250 MB/s");
    display.Begin("rehearsal", 0);
  }
  EXPECT_THAT(written, StartsWith("disk, about 8.0 s\ndisk done in "));
  EXPECT_THAT(written, HasSubstr(" s, 250 MB/s\nrehearsal\nrehearsal done in "));
  for (const char byte : written) {
    EXPECT_TRUE(byte == '\n' || byte >= ' ') << static_cast<int>(byte);
  }
}

TEST(ProgressDisplay, RecordsAreReadBack) {
  std::vector<std::string> written;
  {
    ProgressDisplay display(ProgressStyle::kRecords,
                            [&written](std::string_view text) { written.emplace_back(text); });
    display.Begin("disk", 8);
    display.Note("\"250\" MB/s");
  }
  ASSERT_FALSE(written.empty());
  EXPECT_EQ(written.back().back(), '\n');
  const auto last = ParseProgressRecord(written.back());
  ASSERT_TRUE(last.has_value());
  EXPECT_EQ(last->phase, "disk");
  EXPECT_EQ(last->expected_s, 8);
  EXPECT_EQ(last->note, "\"250\" MB/s");
  EXPECT_TRUE(last->done);
}

TEST(ParseProgressRecord, AnythingElseIsNoRecord) {
  for (const char* line : {"", "rigproof: this loads the PC fully", "{}", "[1]", "{\"phase\":1}",
                           "{\"phase\":\"a\",\"elapsed_s\":\"1\",\"expected_s\":1,"
                           "\"note\":\"\",\"done\":true}"}) {
    EXPECT_FALSE(ParseProgressRecord(line).has_value()) << line;
  }
}

TEST(ProgressDisplay, QuietWritesNothing) {
  std::string written;
  {
    ProgressDisplay display(ProgressStyle::kNone,
                            [&written](std::string_view text) { written += text; });
    display.Begin("disk", 8);
  }
  EXPECT_EQ(written, "");
}

TEST(ProgressDisplay, BarClearsItsLineBeforeTheNext) {
  std::string written;
  {
    ProgressDisplay display(ProgressStyle::kBar,
                            [&written](std::string_view text) { written += text; });
    display.Begin("disk", 8);
    display.End();
  }
  EXPECT_THAT(written, HasSubstr("\r\x1b[Kdisk done in "));
  EXPECT_EQ(written.back(), '\n');
}

}  // namespace
}  // namespace cli
