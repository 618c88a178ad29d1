// SPDX-License-Identifier: Apache-2.0

#include "report/cpu/content_cost.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/support/evidence_builder.h"

namespace report {
namespace {

using testing::Cost;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

bench::CostTable Costs() {
  bench::CostTable costs;
  costs.entries = {Cost(bench::Stage::kEncode, "640x360 libx264 low talk 900 kb/s", 2),
                   Cost(bench::Stage::kEncode, "1280x720 libx264 low talk 3000 kb/s", 8),
                   Cost(bench::Stage::kEncode, "1280x720 libx264 low talk 6000 kb/s", 10),
                   Cost(bench::Stage::kEncodeHarder, "1280x720 libx264 low stage 6000 kb/s", 16)};
  return costs;
}

profiles::Profile TwoTalksAndAClip() {
  profiles::Profile profile;
  profile.sources.resize(3);
  profile.sources[2].content = profiles::Content::kClip;
  return profile;
}

TEST(HarderPictures, AreComparedWithTheSameEncodeAtTheSameRate) {
  const auto harder = HarderPicturesOf(Costs());
  ASSERT_TRUE(harder);
  EXPECT_EQ(harder->encode, "1280x720 libx264 low");
  EXPECT_EQ(harder->shown, profiles::Content::kTalk);
  EXPECT_EQ(harder->harder, profiles::Content::kStage);
  EXPECT_DOUBLE_EQ(harder->Times(), 1.6);  // 16 ms against 10 ms
}

TEST(HarderPictures, AreNotKnownWithoutATwin) {
  bench::CostTable costs = Costs();
  costs.entries[2].cpu_ms = 0;
  EXPECT_FALSE(HarderPicturesOf(costs));
  costs = Costs();
  costs.entries[3].cpu_ms = 0;  // nor where the twin took no time: it was not measured
  EXPECT_FALSE(HarderPicturesOf(costs));
  costs.entries.erase(costs.entries.begin() + 2);
  EXPECT_FALSE(HarderPicturesOf(costs));
  EXPECT_FALSE(HarderPicturesOf({}));
}

TEST(ContentLines, SayWhatWasShownAndWhatHarderPicturesCost) {
  EXPECT_THAT(
      ContentLines(TwoTalksAndAClip(), Costs()),
      ElementsAre("Pictures that the cameras showed: talk (2 sources), the user's own clip (1 "
                  "source).",
                  "With stage pictures the same encode (1280x720 libx264 low) would take 60 % more "
                  "CPU: 16 instead of 10 ms a picture."));
}

TEST(ContentLines, ClaimNothingThatWasNotMeasured) {
  EXPECT_THAT(ContentLines(TwoTalksAndAClip(), std::nullopt), ::testing::SizeIs(1));
  EXPECT_THAT(ContentLines({}, std::nullopt), ::testing::IsEmpty());
  bench::CostTable costs = Costs();
  costs.entries[3].cpu_ms = 10;
  EXPECT_THAT(ContentLines({}, costs), ElementsAre(HasSubstr("no more CPU")));
}

TEST(ContentLines, StandHostileNames) {
  bench::CostTable costs = Costs();
  for (bench::CostEntry& entry : costs.entries) {
    entry.of->form = "\x1b[2J";
  }
  EXPECT_THAT(ContentLines({}, costs), ElementsAre(::testing::Not(HasSubstr("\x1b"))));
  for (bench::CostEntry& entry : costs.entries) {
    entry.of.reset();
  }
  EXPECT_THAT(ContentLines({}, costs), ::testing::IsEmpty());
}

}  // namespace
}  // namespace report
