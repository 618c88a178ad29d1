// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/starters.h"

#include <algorithm>
#include <set>
#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profiles/demand/demand.h"
#include "profiles/text/reader.h"

namespace profiles {
namespace {

using ::testing::StartsWith;

class StarterProfile : public ::testing::TestWithParam<Starter> {
 protected:
  static Profile Read() {
    const auto profile = ParseProfile(GetParam().json, std::string(GetParam().name));
    EXPECT_TRUE(profile) << (profile ? "" : profile.error().where + ": " + profile.error().detail);
    return profile.value_or(Profile{});
  }
};

TEST_P(StarterProfile, SaysThatItIsInvented) {
  EXPECT_THAT(Read().note, StartsWith("Invented production: "));
}

TEST_P(StarterProfile, ComesBackTheSameFromItsOwnText) {
  const Profile profile = Read();
  const auto again = ParseProfile(ToJsonText(profile), "again");
  ASSERT_TRUE(again) << again.error().where << ": " << again.error().detail;
  EXPECT_EQ(*again, profile);
}

TEST_P(StarterProfile, AsksForLevelsThatPlayersTake) {
  for (const OutputDemand& output : SumDemand(Read()).outputs) {
    EXPECT_FALSE(output.level.empty()) << output.name;
    EXPECT_TRUE(output.level_commonly_played) << output.name << " needs level " << output.level;
  }
}

TEST_P(StarterProfile, StreamsOnlyToTheLoopback) {
  for (const Output& output : Read().outputs) {
    EXPECT_TRUE(output.kind != OutputKind::kStream || output.url == "loopback") << output.name;
  }
}

INSTANTIATE_TEST_SUITE_P(All, StarterProfile, ::testing::ValuesIn(Starters()),
                         [](const auto& row) { return "Starter" + std::to_string(row.index); });

TEST(Starters, AreSixWithNamesOfTheirOwn) {
  std::set<std::string_view> names;
  for (const Starter& starter : Starters()) {
    names.insert(starter.name);
  }
  EXPECT_EQ(names.size(), 6U);
  EXPECT_EQ(names.count(DefaultStarterName()), 1U);
}

TEST(Starters, ReachFromOneCameraToSixAt2160pWithIsos) {
  const auto smallest = ReadProfile("one-camera-talk");
  ASSERT_TRUE(smallest);
  EXPECT_EQ(smallest->sources.size(), 1U);
  const auto largest = ReadProfile("studio-six-cameras-2160p");
  ASSERT_TRUE(largest);
  EXPECT_EQ(largest->program_raster, (Raster{3840, 2160}));
  EXPECT_EQ(largest->sources.size(), 6U);
  EXPECT_EQ(std::count_if(largest->outputs.begin(), largest->outputs.end(),
                          [](const Output& output) { return output.kind == OutputKind::kIso; }),
            6);
}

TEST(DefaultStarter, AsksForNoHardwareEncoder) {
  const auto profile = ReadProfile(std::string(DefaultStarterName()));
  ASSERT_TRUE(profile);
  EXPECT_EQ(SumDemand(*profile).hardware_encodes, 0);
}

}  // namespace
}  // namespace profiles
