// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/reader.h"

#include <filesystem>
#include <fstream>
#include <set>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/sample_profiles.h"

namespace profiles {
namespace {

using ::testing::EndsWith;
using ::testing::HasSubstr;
using ::testing::Not;
using ::testing::StartsWith;

Profile ReadGood(const char* patch = "[]") {
  const auto profile = ParseProfile(tests::Apply({"", patch}), "good.json");
  EXPECT_TRUE(profile) << (profile ? "" : profile.error().where + ": " + profile.error().detail);
  return profile.value_or(Profile{});
}

class BadProfile : public ::testing::TestWithParam<tests::BadVariant> {};

TEST_P(BadProfile, IsRefusedInOneLineThatNamesThePlace) {
  const auto profile = ParseProfile(tests::Apply(GetParam().variant), "show.json");
  ASSERT_FALSE(profile);
  EXPECT_EQ(profile.error().where, std::string("show.json: ") + GetParam().pointer);
  EXPECT_THAT(profile.error().detail, HasSubstr(GetParam().says));
  EXPECT_THAT(profile.error().detail, Not(HasSubstr("\n")));
}

INSTANTIATE_TEST_SUITE_P(Table, BadProfile, ::testing::ValuesIn(tests::BadVariants()),
                         [](const auto& row) {
                           return std::to_string(row.index) + row.param.variant.label;
                         });

class GoodProfile : public ::testing::TestWithParam<tests::Variant> {};

TEST_P(GoodProfile, IsRead) {
  const auto profile = ParseProfile(tests::Apply(GetParam()), "show.json");
  EXPECT_TRUE(profile) << profile.error().where << ": " << profile.error().detail;
}

TEST_P(GoodProfile, ComesBackTheSameFromItsOwnText) {
  const auto profile = ParseProfile(tests::Apply(GetParam()), "show.json");
  ASSERT_TRUE(profile);
  const auto again = ParseProfile(ToJsonText(*profile), "again.json");
  ASSERT_TRUE(again) << again.error().where << ": " << again.error().detail;
  EXPECT_EQ(*again, *profile);
}

INSTANTIATE_TEST_SUITE_P(Table, GoodProfile, ::testing::ValuesIn(tests::GoodVariants()),
                         [](const auto& row) { return std::string(row.param.label); });

TEST(ParseProfile, ReadsEveryFieldOfASource) {
  const Profile profile = ReadGood();
  ASSERT_EQ(profile.sources.size(), 4U);
  const Source& left = profile.sources[0];
  EXPECT_EQ(left.name, "Left 1");
  EXPECT_EQ(left.arrives_by, ArrivesBy::kUsb);
  EXPECT_EQ(left.raster, (Raster{1280, 720}));
  EXPECT_EQ(left.rate, base::Rational(25));
  EXPECT_EQ(left.pixel_format, "nv12");
  EXPECT_EQ(left.content, Content::kTalk);
  EXPECT_EQ(left.device, "usb 2-1");
  const Source& far = profile.sources[3];
  EXPECT_EQ(far.arrives_by, ArrivesBy::kNetwork);
  EXPECT_EQ(far.codec, "hevc");
  EXPECT_EQ(far.bitrate_kbps, 6000);
  EXPECT_EQ(far.pixel_format, "");
  EXPECT_EQ(far.transport, SourceTransport::kRtp);
}

TEST(ParseProfile, KeepsTheTransportOfANetworkSource) {
  const Profile profile =
      ReadGood(R"([{"op":"add","path":"/sources/2/transport","value":"rtsp"}])");
  EXPECT_EQ(profile.sources[3].transport, SourceTransport::kRtsp);
  const auto again = ParseProfile(ToJsonText(profile), "again");
  ASSERT_TRUE(again);
  EXPECT_EQ(*again, profile);
}

std::vector<std::string> Told(const ProfileReading& reading) {
  std::vector<std::string> lines;
  for (const base::Error& mistake : reading.mistakes) {
    lines.push_back(mistake.where + ": " + mistake.detail);
  }
  return lines;
}

TEST_P(BadProfile, IsToldOnceWithoutWhatFollowsFromIt) {
  const ProfileReading reading = ParseWholeProfile(tests::Apply(GetParam().variant), "show.json");
  EXPECT_FALSE(reading.profile);
  // An unknown key that is near no other, and a key that is missing: two lines.
  const std::set<std::string> in_place_of_another{"CableInFeet", "ContentOtherKey"};
  EXPECT_THAT(Told(reading),
              ::testing::SizeIs(in_place_of_another.contains(GetParam().variant.label) ? 2 : 1));
}

TEST(ParseWholeProfile, TellsEveryMistakeInTheOrderOfTheText) {
  const ProfileReading reading = ParseWholeProfile(tests::Apply({"", R"([
      {"op":"replace","path":"/program/rate","value":"fast"},
      {"op":"replace","path":"/sources/0/arrives_by","value":"ubs"},
      {"op":"remove","path":"/sources/1/raster"},
      {"op":"remove","path":"/sources/1/rate"},
      {"op":"replace","path":"/outputs/0/bitrate_kbps","value":-1},
      {"op":"replace","path":"/outputs/1/kind","value":7},
      {"op":"replace","path":"/audio","value":[1]},
      {"op":"replace","path":"/displays","value":99},
      {"op":"add","path":"/margins/cpu","value":5}])"}),
                                                   "show.json");
  EXPECT_THAT(Told(reading),
              ::testing::ElementsAre(
                  StartsWith("show.json: /audio: found a list of 1; allowed: an object"),
                  StartsWith("show.json: /displays: found 99; allowed: a whole number"),
                  StartsWith("show.json: /margins/cpu: unknown key \"cpu\""),
                  StartsWith("show.json: /outputs/0/bitrate_kbps: found -1; allowed: a whole"),
                  StartsWith("show.json: /outputs/1/kind: found 7; allowed: \"recording\""),
                  StartsWith("show.json: /program/rate: found \"fast\"; allowed: "),
                  StartsWith("show.json: /sources/0/arrives_by: found \"ubs\"; allowed: "),
                  StartsWith("show.json: /sources/1: found no \"raster\""),
                  StartsWith("show.json: /sources/1: found no \"rate\"")));
}

TEST(ParseWholeProfile, AMisspeltKeyIsNotMissingToo) {
  const ProfileReading reading = ParseWholeProfile(
      tests::Apply(
          {"", R"([{"op":"move","from":"/outputs/0/bitrate_kbps","path":"/outputs/0/bitrate_mbps"},
                            {"op":"move","from":"/displays","path":"/dsplays"}])"}),
      "show.json");
  EXPECT_THAT(Told(reading),
              ::testing::UnorderedElementsAre(HasSubstr("write \"bitrate_kbps\""),
                                              HasSubstr("/dsplays: unknown key \"dsplays\"")));
}

TEST(ParseWholeProfile, AnotherKindOfFileIsToldAsThat) {
  const ProfileReading reading =
      ParseWholeProfile(R"({"verdict": "ready", "sources": 7})", "r.json");
  EXPECT_THAT(Told(reading), ::testing::ElementsAre(HasSubstr("found no \"format\""),
                                                    HasSubstr("found no \"version\"")));
}

TEST(ParseProfile, ReadsAClipAsContent) {
  const Profile profile = ReadGood();
  EXPECT_EQ(profile.sources[2].content, Content::kClip);
  EXPECT_EQ(profile.sources[2].clip, "desk.mkv");
}

TEST(ParseProfile, SpreadsACountIntoNumberedSources) {
  const Profile profile = ReadGood();
  EXPECT_EQ(profile.sources[1].name, "Left 2");
  EXPECT_NE(FindSource(profile, "Left 2"), nullptr);
  EXPECT_EQ(FindSource(profile, "Left"), nullptr);
}

TEST(ParseProfile, KeepsTheNameOfACountOfOne) {
  const Profile profile = ReadGood(R"([{"op":"replace","path":"/sources/0/count","value":1}])");
  EXPECT_EQ(profile.sources[0].name, "Left");
}

TEST(ParseProfile, SpreadsEverySourceIntoOneOutputEach) {
  const Profile profile = ReadGood();
  ASSERT_EQ(profile.outputs.size(), 7U);
  EXPECT_EQ(profile.outputs[2].name, "Iso: Left 1");
  EXPECT_EQ(profile.outputs[2].takes, "Left 1");
  EXPECT_EQ(profile.outputs[5].name, "Iso: Far");
}

TEST(ParseProfile, GivesAnOutputThePictureOfWhatItTakes) {
  const Profile profile = ReadGood();
  EXPECT_EQ(profile.outputs[1].raster, (Raster{1920, 1080}));
  EXPECT_EQ(profile.outputs[1].rate, base::Rational(30000, 1001));
  EXPECT_EQ(profile.outputs[5].rate, base::Rational(50));
  EXPECT_EQ(profile.outputs[6].raster, (Raster{960, 540}));
}

TEST(ParseProfile, KeepsThePictureThatAnOutputAsksFor) {
  const Profile profile = ReadGood();
  EXPECT_EQ(profile.outputs[0].raster, (Raster{1280, 720}));
  EXPECT_EQ(profile.outputs[0].rate, base::Rational(25));
  EXPECT_EQ(profile.outputs[0].folder, "/srv/tapes");
}

TEST(ParseProfile, SendsAStreamWithoutUrlToTheLoopback) {
  const Profile profile = ReadGood(R"([{"op":"remove","path":"/outputs/1/url"}])");
  EXPECT_EQ(profile.outputs[1].url, "loopback");
}

TEST(ParseProfile, KeepsDefaultsOfMarginsNotGiven) {
  const Profile profile = ReadGood();
  EXPECT_EQ(profile.margins.cpu_percent, 30);
  EXPECT_EQ(profile.margins.allowed_drops_per_hour, 0.5);
  EXPECT_EQ(profile.margins.disk_percent, Margins{}.disk_percent);
}

TEST(ParseProfile, KnowsI420AsYuv420p) {
  const Profile profile =
      ReadGood(R"([{"op":"replace","path":"/sources/0/pixel_format","value":"i420"}])");
  EXPECT_EQ(profile.sources[0].pixel_format, "yuv420p");
}

TEST(ParseProfile, RefusesAListAtTheTop) {
  const auto profile = ParseProfile("[1]", "x.json");
  ASSERT_FALSE(profile);
  EXPECT_EQ(profile.error().where, "x.json: top level");
}

TEST(ParseProfile, RefusesMoreThanOneMebibyte) {
  const auto profile = ParseProfile(std::string((1 << 20) + 1, ' '), "x.json");
  ASSERT_FALSE(profile);
  EXPECT_EQ(profile.error().detail, "found 1048577 bytes; allowed: at most 1048576");
}

TEST(ParseProfile, ShowsAnOriginWithControlCharactersAsText) {
  const auto profile = ParseProfile("{", "a\nb\x1b.json");
  ASSERT_FALSE(profile);
  EXPECT_THAT(profile.error().where, StartsWith("a\\x0Ab\\x1B.json: line 1"));
}

class ReadProfileFile : public ::testing::Test {
 protected:
  void SetUp() override {
    folder_ = std::filesystem::path(::testing::TempDir()) /
              ("rigproof-reader-" +
               std::string(::testing::UnitTest::GetInstance()->current_test_info()->name()));
    std::filesystem::create_directories(folder_);
  }
  void TearDown() override { std::filesystem::remove_all(folder_); }

  std::filesystem::path Write(const std::string& name, std::string_view text) const {
    std::ofstream(folder_ / name, std::ios::binary) << text;
    return folder_ / name;
  }

  std::filesystem::path folder_;
};

TEST_F(ReadProfileFile, ReadsAFile) {
  const auto profile = ReadProfile(Write("show.json", tests::GoodProfileJson()));
  ASSERT_TRUE(profile);
  EXPECT_EQ(profile->name, "Everything");
}

TEST_F(ReadProfileFile, FindsAClipBesideTheFile) {
  const auto profile = ReadProfile(Write("show.json", tests::GoodProfileJson()));
  ASSERT_TRUE(profile);
  EXPECT_EQ(profile->sources[2].clip, (folder_ / "desk.mkv").lexically_normal().string());
}

TEST_F(ReadProfileFile, NamesTheFileInErrors) {
  const auto file = Write("show.json", R"({"format": "rigproof-profile", "version": 3})");
  const auto profile = ReadProfile(file);
  ASSERT_FALSE(profile);
  EXPECT_EQ(profile.error().where, file.string() + ": /version");
}

TEST_F(ReadProfileFile, RefusesAFolder) {
  const auto profile = ReadProfile(folder_);
  ASSERT_FALSE(profile);
  EXPECT_THAT(profile.error().detail, StartsWith("found no ordinary file"));
}

TEST_F(ReadProfileFile, RefusesAFileTooLarge) {
  const auto profile = ReadProfile(Write("big.json", std::string((1 << 20) + 1, ' ')));
  ASSERT_FALSE(profile);
  EXPECT_THAT(profile.error().detail, EndsWith("allowed: at most 1048576"));
}

TEST_F(ReadProfileFile, RefusesAnEmptyFile) {
  const auto profile = ReadProfile(Write("empty.json", ""));
  ASSERT_FALSE(profile);
  EXPECT_THAT(profile.error().detail, StartsWith("not JSON: unexpected end of input"));
}

TEST(ReadProfile, TakesTheNameOfAStarter) {
  const auto profile = ReadProfile("two-camera-talk");
  ASSERT_TRUE(profile);
  EXPECT_EQ(profile->name, "Two-camera talk");
}

TEST(ReadProfile, NamesTheStartersWhenNothingIsFound) {
  const auto profile = ReadProfile("two-camera-tallk");
  ASSERT_FALSE(profile);
  EXPECT_THAT(profile.error().detail, HasSubstr("\"one-camera-talk\""));
  EXPECT_THAT(profile.error().detail, EndsWith("(nearest: \"two-camera-talk\")"));
}

}  // namespace
}  // namespace profiles
