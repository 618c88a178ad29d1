// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/addition.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profiles/text/reader.h"

namespace profiles {
namespace {

using testing::HasSubstr;
using testing::Not;

Profile Starter() {
  const auto profile = ReadProfile("two-camera-talk");
  EXPECT_TRUE(profile);
  return *profile;
}

std::string Refusal(const base::Result<Profile>& result) {
  EXPECT_FALSE(result);
  return result ? "" : result.error().where + ": " + result.error().detail;
}

TEST(WithAdded, TakesAShortForm) {
  const Profile before = Starter();
  const auto grown = WithAdded(before, "2x 1920x1080 50 usb nv12 stage");
  ASSERT_TRUE(grown) << grown.error().detail;
  ASSERT_EQ(grown->sources.size(), before.sources.size() + 2);
  const Source& added = grown->sources.back();
  EXPECT_EQ(added.name, "Added 2");
  EXPECT_EQ(added.raster, (Raster{1920, 1080}));
  EXPECT_EQ(added.rate, base::Rational(50));
  EXPECT_EQ(added.pixel_format, "nv12");
  EXPECT_EQ(added.content, Content::kStage);
  EXPECT_EQ(grown->outputs, before.outputs) << "no iso was asked for";
}

TEST(WithAdded, GivesEachItsIsoAtAsManyBitsAPixel) {
  Profile before = Starter();
  before.outputs.resize(1);
  before.outputs[0].kind = OutputKind::kRecording;
  before.outputs[0].raster = {1280, 720};
  before.outputs[0].rate = 25;
  before.outputs[0].bitrate_kbps = 4000;
  const auto grown = WithAdded(before, "1920x1080 50 usb nv12 iso");
  ASSERT_TRUE(grown) << grown.error().detail;
  ASSERT_EQ(grown->outputs.size(), 2U);
  const Output& iso = grown->outputs.back();
  EXPECT_EQ(iso.kind, OutputKind::kIso);
  EXPECT_EQ(iso.takes, "Added");
  EXPECT_EQ(iso.bitrate_kbps, 18000);  // 4000 x 2.25 times the pixels x twice the rate
  const auto told = WithAdded(before, "1920x1080 50 usb nv12 iso=9000");
  ASSERT_TRUE(told);
  EXPECT_EQ(told->outputs.back().bitrate_kbps, 9000);
}

TEST(WithAdded, TakesANetworkSourceWithItsBitRate) {
  const auto grown = WithAdded(Starter(), "1920x1080 30000/1001 network h264 8000");
  ASSERT_TRUE(grown) << grown.error().detail;
  EXPECT_EQ(grown->sources.back().arrives_by, ArrivesBy::kNetwork);
  EXPECT_EQ(grown->sources.back().bitrate_kbps, 8000);
  EXPECT_EQ(grown->sources.back().rate, base::Rational(30000, 1001));
}

TEST(WithAdded, NamesWhatComesTwiceAnew) {
  auto grown = WithAdded(Starter(), "2x 1280x720 25 usb nv12");
  ASSERT_TRUE(grown);
  grown = WithAdded(*grown, "1280x720 25 usb nv12");
  ASSERT_TRUE(grown) << grown.error().detail;
  EXPECT_EQ(grown->sources.back().name, "Added B");
}

TEST(WithAdded, TakesOneLikeAnother) {
  const Profile before = Starter();
  const auto grown = WithAdded(before, "2x like:" + before.sources[0].name);
  ASSERT_TRUE(grown) << grown.error().detail;
  EXPECT_EQ(grown->sources.size(), before.sources.size() + 2);
  EXPECT_EQ(grown->sources.back().raster, before.sources[0].raster);
}

TEST(WithAdded, SaysWhatIsAllowed) {
  const Profile before = Starter();
  EXPECT_THAT(Refusal(WithAdded(before, "")), HasSubstr("like:NAME"));
  EXPECT_THAT(Refusal(WithAdded(before, "1920x1080 50 usb")), HasSubstr("found 3 words"));
  EXPECT_THAT(Refusal(WithAdded(before, "1920x1080")), HasSubstr("found 1 word;"));
  EXPECT_THAT(Refusal(WithAdded(before, "big 50 usb nv12")), HasSubstr("raster"));
  EXPECT_THAT(Refusal(WithAdded(before, "1920x1080 900 usb nv12")), HasSubstr("rate"));
  EXPECT_THAT(Refusal(WithAdded(before, "1920x1080 50 radio nv12")), HasSubstr("\"usb\""));
  EXPECT_THAT(Refusal(WithAdded(before, "1920x1080 50 usb rgb99")), HasSubstr("pixel_format"));
  EXPECT_THAT(Refusal(WithAdded(before, "1920x1080 50 usb nv12 isoo")), HasSubstr("iso=KBPS"));
  EXPECT_THAT(Refusal(WithAdded(before, "1920x1080 50 usb nv12 iso=1")), HasSubstr("iso=50"));
  EXPECT_THAT(Refusal(WithAdded(before, "1920x1080 50 network h264")), HasSubstr("bit rate"));
  EXPECT_THAT(Refusal(WithAdded(before, "99x 1920x1080 50 usb nv12")), HasSubstr("1x to 16x"));
  EXPECT_THAT(Refusal(WithAdded(before, "16x 1920x1080 50 usb nv12")), HasSubstr("sources"));
  EXPECT_THAT(Refusal(WithAdded(before, "like:Nobody")), HasSubstr(before.sources[0].name));
  EXPECT_THAT(Refusal(WithAdded(before, "1920x1080 50 usb \x1b[2J")), Not(HasSubstr("\x1b")));
}

constexpr const char* kFile = R"({"sources": [{"name": "Roof", "arrives_by": "pcie",
  "raster": "1920x1080", "rate": 25, "pixel_format": "uyvy422", "content": "plain"}],
  "outputs": [{"name": "Roof iso", "kind": "iso", "takes": "Roof", "codec": "h264",
  "bitrate_kbps": 8000, "encoder": "any", "effort": "low", "container": "mkv"}]})";

TEST(WithAddedJson, TakesSourcesAndTheirIsos) {
  const auto grown = WithAddedJson(Starter(), kFile, "roof.json");
  ASSERT_TRUE(grown) << grown.error().detail;
  EXPECT_EQ(grown->sources.back().name, "Roof");
  EXPECT_EQ(grown->outputs.back().name, "Roof iso");
}

TEST(WithAddedJson, PointsIntoTheFile) {
  std::string text = kFile;
  text.replace(text.find("uyvy422"), 7, "uyvy423");
  EXPECT_THAT(Refusal(WithAddedJson(Starter(), text, "roof.json")),
              HasSubstr("roof.json: /sources/0/pixel_format"));
  EXPECT_THAT(Refusal(WithAddedJson(Starter(), "{\"source\": []}", "f.json")), HasSubstr("f.json"));
  EXPECT_THAT(Refusal(WithAddedJson(Starter(), "{\"sources\": []}", "f.json")),
              HasSubstr("/sources"));
  EXPECT_THAT(Refusal(WithAddedJson(Starter(), "nonsense", "f.json")), HasSubstr("f.json"));
  EXPECT_THAT(Refusal(WithAddedJson(Starter(), "[]", "f.json")), HasSubstr("f.json"));
  text = kFile;
  text.replace(text.find("\"iso\""), 5, "\"recording\"");
  EXPECT_THAT(Refusal(WithAddedJson(Starter(), text, "roof.json")), HasSubstr("allowed"));
}

TEST(WithAddedJson, RefusesANameThatIsTaken) {
  std::string text = kFile;
  const std::string taken = Starter().sources[0].name;
  for (std::size_t at = text.find("Roof\""); at != std::string::npos; at = text.find("Roof\"")) {
    text.replace(at, 4, taken);
  }
  EXPECT_THAT(Refusal(WithAddedJson(Starter(), text, "roof.json")), HasSubstr(taken));
}

}  // namespace
}  // namespace profiles
