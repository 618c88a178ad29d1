// SPDX-License-Identifier: Apache-2.0
//
// Lists of files that follow each other, and times as they stand in them.

#include "probes/recording/containers/segment_list.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace probes {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

std::vector<std::string> NamesOf(const SegmentList& list) {
  std::vector<std::string> names;
  for (const ListedFile& file : list.files) {
    names.push_back(file.name);
  }
  return names;
}

TEST(ParseSegmentList, TakesAPlaylist) {
  const auto list = ParseSegmentList(
      "#EXTM3U\r\n#EXT-X-VERSION:7\r\n#EXT-X-MAP:URI=\"init.mp4\"\r\n"
      "#EXT-X-PROGRAM-DATE-TIME:2026-11-25T18:00:00.250+01:00\r\n#EXTINF:4,\r\na.m4s\r\n"
      "#EXT-X-PROGRAM-DATE-TIME:2027-01-01T00:00:00Z\r\n#EXTINF:4,\r\nb c.m4s\r\n"
      "#EXT-X-ENDLIST\r\n");
  ASSERT_TRUE(list);
  EXPECT_THAT(NamesOf(*list), ElementsAre("a.m4s", "b c.m4s"));
  EXPECT_EQ(list->files[1].beginning, "init.mp4");
  EXPECT_TRUE(list->closed);
  // GNU date: date -u -d 2026-11-25T17:00:00.25Z +%s.%N
  EXPECT_DOUBLE_EQ(list->started_unix_s.value_or(0), 1795626000.25);
}

TEST(ParseSegmentList, KnowsWhereTimesAndBeginningsChange) {
  // RFC 8216, 4.3.2.3: a discontinuity holds for the next file; 4.3.2.5: a map for all that follow.
  const auto list = ParseSegmentList(
      "#EXTM3U\n#EXT-X-MAP:URI=\"a.mp4\"\n#EXTINF:4,\n1.m4s\n#EXT-X-DISCONTINUITY\n"
      "#EXT-X-MAP:URI=\"b.mp4\"\n#EXTINF:4,\n2.m4s\n#EXTINF:4,\n3.m4s\n");
  ASSERT_TRUE(list);
  EXPECT_THAT(list->files,
              ElementsAre(ListedFile{"1.m4s", "a.mp4", false}, ListedFile{"2.m4s", "b.mp4", true},
                          ListedFile{"3.m4s", "b.mp4", false}));
}

TEST(ParseSegmentList, AListThatStillGrowsIsNotClosed) {
  const auto list = ParseSegmentList("#EXTM3U\n#EXTINF:2,\na.ts\n");
  ASSERT_TRUE(list);
  EXPECT_FALSE(list->closed);
}

TEST(ParseSegmentList, TakesAConcatListWithItsQuotes) {
  const auto list = ParseSegmentList(
      "ffconcat version 1.0\n# first\nfile 'a b.mkv'\nduration 3\nfile it\\'s.mkv\n"
      "file 'it'\\''s two.mkv'\n");
  ASSERT_TRUE(list);
  EXPECT_THAT(NamesOf(*list), ElementsAre("a b.mkv", "it's.mkv", "it's two.mkv"));
  EXPECT_TRUE(list->closed);
}

TEST(ParseSegmentList, RefusesWhatIsNotFollowed) {
  const auto error = [](std::string_view text) { return ParseSegmentList(text).error().detail; };
  EXPECT_THAT(error("#EXTM3U\nhttp://example.org/a.ts\n"), HasSubstr("only files"));
  EXPECT_THAT(error("#EXTM3U\n#EXT-X-STREAM-INF:BANDWIDTH=1\nlow.m3u8\n"),
              HasSubstr("other lists"));
  EXPECT_THAT(error("#EXTM3U\n#EXT-X-BYTERANGE:10@0\na.ts\n"), HasSubstr("parts of files"));
  EXPECT_THAT(error("#EXTM3U\n#EXT-X-KEY:METHOD=AES-128,URI=\"k\"\na.ts\n"),
              HasSubstr("encrypted"));
  EXPECT_THAT(error("#EXTM3U\n"), HasSubstr("no files"));
  EXPECT_THAT(error("ffconcat version 1.0\nfile\n"), HasSubstr("without a name"));
}

TEST(LooksLikeSegmentList, OnlyWhatBeginsAsOne) {
  EXPECT_TRUE(LooksLikeSegmentList("#EXTM3U\n"));
  EXPECT_TRUE(LooksLikeSegmentList("# a remark\n\nfile a.mkv\n"));
  EXPECT_FALSE(LooksLikeSegmentList(""));
  EXPECT_FALSE(LooksLikeSegmentList("\x1a\x45\xdf\xa3"));
  EXPECT_FALSE(LooksLikeSegmentList("A letter about a file a.mkv"));
}

TEST(ParseIsoTime, ReadsZonesAndFractions) {
  // GNU date -u +%s
  EXPECT_DOUBLE_EQ(ParseIsoTime("2000-02-29T12:00:00Z").value_or(0), 951825600);
  EXPECT_DOUBLE_EQ(ParseIsoTime("1970-01-01T00:00:00.5Z").value_or(0), 0.5);
  EXPECT_DOUBLE_EQ(ParseIsoTime("2026-11-25T00:30:00-0130").value_or(0), 1795572000);
}

TEST(ParseIsoTime, RefusesOtherText) {
  for (const char* text : {"", "yesterday", "2026-11-25T18:00:00", "2026-13-01T00:00:00Z",
                           "2026-02-30T00:00:00Z", "2026-11-25T24:00:00Z", "2026-11-25T18:00:00+1",
                           "2026-11-25T18:00:00Zulu", "-026-11-25T18:00:00Z"}) {
    EXPECT_FALSE(ParseIsoTime(text)) << text;
  }
}

}  // namespace
}  // namespace probes
