// SPDX-License-Identifier: Apache-2.0
//
// Ports for cameras that are to be plugged in, and plugs that are better elsewhere, on an invented
// PC of two controllers with four sockets each.

#include <algorithm>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profiles/demand/demand.h"
#include "profiles/text/addition.h"
#include "report/assess/assess.h"
#include "report/predict/size.h"
#include "report/predict/size_ports.h"
#include "report/predict/size_resources.h"
#include "report/words/cautions.h"
#include "tests/support/port_builder.h"

namespace report::testing {
namespace {

using ::testing::Contains;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::StartsWith;

/// Two cameras, one on each controller, of 55 MB/s.
Evidence TwoPluggedIn() {
  Evidence evidence = GoodEvidence();
  GivePorts(evidence);
  return evidence;
}

profiles::Profile With(const Evidence& evidence, const std::string& wish) {
  const auto grown = profiles::WithAdded(evidence.profile, wish);
  EXPECT_TRUE(grown) << grown.error().detail;
  return grown.value_or(evidence.profile);
}

SizedProduction Usb(const Evidence& evidence, const profiles::Profile& changed) {
  SizedProduction sized;
  SizeUsb(evidence, changed, sized);
  return sized;
}

TEST(SizeUsb, FindsAFreePortThatCarriesTheCamera) {
  const Evidence evidence = TwoPluggedIn();
  const SizedProduction sized = Usb(evidence, With(evidence, "1920x1080 30 usb yuyv422"));
  ASSERT_EQ(sized.resources.size(), 1U);
  EXPECT_THAT(sized.resources[0].item, HasSubstr("Added on usb"));
  EXPECT_GT(*sized.resources[0].headroom_percent, 15);
  EXPECT_THAT(sized.unproven, IsEmpty());
}

TEST(SizeUsb, DoesNotPromiseMoreThanOnePortOfAController) {
  const Evidence evidence = TwoPluggedIn();
  // 248.8 MB/s each: one more on each controller keeps 15 % of 400 MB/s, a third does not.
  EXPECT_THAT(Usb(evidence, With(evidence, "2x 1920x1080 60 usb yuyv422")).unproven, IsEmpty());
  EXPECT_THAT(UnprovenTexts(Usb(evidence, With(evidence, "3x 1920x1080 60 usb yuyv422"))),
              Contains(HasSubstr("line-check")));
}

TEST(SizeUsb, SaysThatNoPortCarriesIt) {
  const Evidence evidence = TwoPluggedIn();
  // 995 MB/s: no port of 5 Gb/s carries it.
  const SizedProduction sized = Usb(evidence, With(evidence, "3840x2160 60 usb yuyv422"));
  ASSERT_EQ(sized.resources.size(), 1U);
  EXPECT_TRUE(Over(sized.resources[0]));
  EXPECT_THAT(sized.resources[0].item, StartsWith("a port for"));
}

// At 1.6 bits a pixel 7680x4320 at 60 is 398 MB/s; how far a camera compresses nobody knows.
TEST(SizeUsb, NoPortForWhatIsAssumedIsUnproven) {
  const Evidence evidence = TwoPluggedIn();
  const SizedProduction sized = Usb(evidence, With(evidence, "7680x4320 60 usb mjpeg"));
  EXPECT_THAT(sized.resources, IsEmpty());
  EXPECT_THAT(UnprovenTexts(sized),
              Contains(HasSubstr("by an assumption: 1.6 bits a pixel of mjpeg")));
}

TEST(SizeUsb, KnowsNothingOfPortsThatWereNotRead) {
  const Evidence evidence = GoodEvidence();
  const SizedProduction sized = Usb(evidence, With(evidence, "1920x1080 30 usb yuyv422"));
  EXPECT_THAT(sized.resources, IsEmpty());
  EXPECT_THAT(UnprovenTexts(sized), Contains(HasSubstr("rigproof survey")));
}

TEST(SizeUsb, OfARehearsalAloneIsNotJudged) {
  Evidence evidence = TwoPluggedIn();
  evidence.length = kRehearsalOnly;
  EXPECT_THAT(Usb(evidence, With(evidence, "3840x2160 60 usb yuyv422")).resources, IsEmpty());
}

TEST(FindRemedies, OffersAPlugWhereAHubIsFull) {
  Evidence evidence = GoodEvidence();
  PutBehindOneHub(evidence, 2);
  GivePorts(evidence);
  // Two at 1920x1080 yuyv422 and 50: 207 MB/s each on a hub that keeps 340 of 400 MB/s.
  profiles::Profile asked = evidence.profile;
  for (profiles::Source& source : asked.sources) {
    source.arrives_by = profiles::ArrivesBy::kUsb;
    source.raster = {1920, 1080};
    source.rate = 50;
    source.pixel_format = "yuyv422";
  }
  if (asked.sources.empty()) {
    asked = With(evidence, "2x 1920x1080 50 usb yuyv422");
  }
  const Sizing sizing = SizeUp({"r.json", Assess(evidence)}, asked);
  const auto plug = std::find_if(sizing.remedies.begin(), sizing.remedies.end(),
                                 [](const auto& one) { return one.cost == RemedyCost::kPlug; });
  ASSERT_NE(plug, sizing.remedies.end());
  EXPECT_THAT(plug->what, StartsWith("Take the plug of"));
  EXPECT_THAT(plug->effect, HasSubstr("fullest USB link"));
  EXPECT_THAT(sizing.cautions, Contains(kCautionMoves));
}

}  // namespace
}  // namespace report::testing
