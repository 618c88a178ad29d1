// SPDX-License-Identifier: Apache-2.0

#include "profiles/pixel_formats.h"

#include <gtest/gtest.h>

#include "profiles/words.h"

namespace profiles {
namespace {

TEST(FindPixelFormat, KnowsEveryNameOfTheTable) {
  for (const std::string& name : PixelFormatNames()) {
    ASSERT_NE(FindPixelFormat(name), nullptr) << name;
    EXPECT_EQ(FindPixelFormat(name)->name, name);
  }
}

TEST(FindPixelFormat, KnowsNoOther) {
  EXPECT_EQ(FindPixelFormat("rgb565"), nullptr);
  EXPECT_EQ(FindPixelFormat(""), nullptr);
}

TEST(LineBytes, RoundsV210LinesUpToWholeBlocks) {
  const PixelFormat& v210 = *FindPixelFormat("v210");
  EXPECT_EQ(LineBytes(v210, 48), 128);
  EXPECT_EQ(LineBytes(v210, 50), 256);
}

TEST(Words, ComeBackAsTheChoiceTheyStandFor) {
  EXPECT_EQ(FromWord<ArrivesBy>(ToWord(ArrivesBy::kPcie)), ArrivesBy::kPcie);
  EXPECT_EQ(FromWord<Content>(ToWord(Content::kBusy)), Content::kBusy);
  EXPECT_EQ(FromWord<OutputKind>(ToWord(OutputKind::kIso)), OutputKind::kIso);
  EXPECT_EQ(FromWord<EncoderChoice>(ToWord(EncoderChoice::kAny)), EncoderChoice::kAny);
  EXPECT_EQ(FromWord<Effort>(ToWord(Effort::kHigh)), Effort::kHigh);
  EXPECT_FALSE(FromWord<Effort>("much"));
}

TEST(Words, HaveNoneForAClip) {
  EXPECT_EQ(ToWord(Content::kClip), "clip");
  EXPECT_FALSE(FromWord<Content>("clip"));
}

}  // namespace
}  // namespace profiles
