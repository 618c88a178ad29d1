// SPDX-License-Identifier: Apache-2.0
//
// A production grown by sources of its own kinds: names, isos, limits.

#include "profiles/text/growth.h"

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profiles/text/reader.h"
#include "profiles/text/starters.h"

namespace profiles {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

Profile Starter(const std::string& name) {
  auto profile = ReadProfile(name);
  EXPECT_TRUE(profile) << name;
  return profile ? *profile : Profile{};
}

/// Two cameras alike but for an iso of one, and a third that differs in rate.
Profile ThreeKinds() {
  Profile profile;
  profile.name = "Invented three kinds";
  profile.duration_minutes = 10;
  profile.program_raster = {1280, 720};
  Source source;
  source.raster = {1280, 720};
  source.rate = 25;
  source.pixel_format = "nv12";
  for (const char* const name : {"Left", "Right", "Roof"}) {
    source.name = name;
    profile.sources.push_back(source);
  }
  profile.sources[1].device = "2-1";
  profile.sources[2].rate = 50;
  Output output;
  output.name = "Program";
  output.takes = "program";
  output.raster = {1280, 720};
  output.bitrate_kbps = 4000;
  output.container = "mkv";
  profile.outputs.push_back(output);
  output.name = "Iso of Right";
  output.kind = OutputKind::kIso;
  output.takes = "Right";
  output.rate = 25;
  profile.outputs.push_back(output);
  return profile;
}

TEST(KindsOfSources, PutsTogetherWhatAsksTheSame) {
  const auto kinds = KindsOfSources(Starter("match-four-cameras"));
  ASSERT_EQ(kinds.size(), 1U) << "four cameras alike, each with an iso alike";
  EXPECT_THAT(kinds[0].members, ElementsAre("Wide", "Camera 1", "Camera 2", "Camera 3"));
  EXPECT_THAT(kinds[0].isos, ElementsAre("Iso: Wide"));
}

TEST(KindsOfSources, TellsApartByIsosAndByRate) {
  const auto kinds = KindsOfSources(ThreeKinds());
  ASSERT_EQ(kinds.size(), 3U);
  EXPECT_THAT(kinds[0].isos, IsEmpty());
  EXPECT_THAT(kinds[1].isos, ElementsAre("Iso of Right"));
}

TEST(KindsOfSources, TheCommonestIsTheFirstOfThoseWithMost) {
  Profile profile = ThreeKinds();
  EXPECT_EQ(CommonestKind(profile).like, "Left");
  profile.sources[0].rate = 50;
  EXPECT_EQ(CommonestKind(profile).like, "Left") << "now of one kind with Roof";
  EXPECT_EQ(CommonestKind(profile).members.size(), 2U);
}

TEST(WithMoreSources, AddsSourcesWithNamesAndIsosOfTheirOwn) {
  const Profile profile = ThreeKinds();
  const auto grown = WithMoreSources(profile, "Right", 2);
  ASSERT_TRUE(grown);
  ASSERT_EQ(grown->sources.size(), 5U);
  EXPECT_EQ(grown->sources[3].name, "Right +1");
  EXPECT_EQ(grown->sources[4].name, "Right +2");
  EXPECT_EQ(grown->sources[3].device, "") << "it has no port yet";
  ASSERT_EQ(grown->outputs.size(), 4U);
  EXPECT_EQ(grown->outputs[2].name, "Iso of Right +1");
  EXPECT_EQ(grown->outputs[2].takes, "Right +1");
  EXPECT_EQ(grown->outputs[3].takes, "Right +2");
  EXPECT_EQ(grown->sources[1], profile.sources[1]) << "what was there stays as it was";
}

TEST(WithMoreSources, AvoidsNamesThatAreTaken) {
  Profile profile = ThreeKinds();
  profile.sources[0].name = "Right +1";
  profile.outputs[0].name = "Iso of Right +2";
  const auto grown = WithMoreSources(profile, "Right", 1);
  ASSERT_TRUE(grown);
  EXPECT_EQ(grown->sources[3].name, "Right +2");
  EXPECT_EQ(grown->outputs[2].name, "Iso of Right +1");
}

TEST(WithMoreSources, LongNamesStayWithinTheFormat) {
  Profile profile = ThreeKinds();
  profile.sources[1].name = std::string(99, 'x');
  profile.outputs[1].takes = profile.sources[1].name;
  profile.outputs[1].name = "Iso " + std::string(95, 'y');
  const auto grown = WithMoreSources(profile, profile.sources[1].name, 3);
  ASSERT_TRUE(grown);
  EXPECT_TRUE(ParseProfile(ToJsonText(*grown), "grown"));
}

TEST(WithMoreSources, TheReaderTakesEveryStarterGrownToItsLimit) {
  for (const auto& starter : Starters()) {
    const Profile profile = Starter(std::string(starter.name));
    for (const SourceKind& kind : KindsOfSources(profile)) {
      const int most = MostAddedSources(profile, kind.like);
      const auto grown = WithMoreSources(profile, kind.like, most);
      ASSERT_TRUE(grown) << starter.name;
      const auto read = ParseProfile(ToJsonText(*grown), "grown");
      ASSERT_TRUE(read) << starter.name << ": " << read.error().where << " " << read.error().detail;
      EXPECT_EQ(*read, *grown) << starter.name;
    }
  }
}

TEST(WithMoreSources, RefusesWhatTheFormatDoesNotTake) {
  const Profile profile = ThreeKinds();
  EXPECT_EQ(MostAddedSources(profile, "Left"), 13);  // 16 sources in a profile
  const auto too_many = WithMoreSources(profile, "Left", 14);
  ASSERT_FALSE(too_many);
  EXPECT_THAT(too_many.error().detail, HasSubstr("0 to 13"));
  EXPECT_FALSE(WithMoreSources(profile, "Left", -1));
  EXPECT_FALSE(WithMoreSources(profile, "Nobody", 1));
  EXPECT_EQ(MostAddedSources(profile, "Nobody"), 0);
}

TEST(WithMoreSources, IsosAreCountedAgainstTheLimitOfOutputs) {
  Profile profile = ThreeKinds();
  while (profile.outputs.size() < 30) {
    profile.outputs.push_back(profile.outputs[0]);
    profile.outputs.back().name = "Copy " + std::to_string(profile.outputs.size());
  }
  EXPECT_EQ(MostAddedSources(profile, "Right"), 2);  // 32 outputs in a profile
  EXPECT_EQ(MostAddedSources(profile, "Left"), 13);
}

}  // namespace
}  // namespace profiles
