// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/cable_reach.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace profiles {
namespace {

using ::testing::HasSubstr;

Source Picture(int width, int height, int rate) {
  Source source;
  source.raster = {width, height};
  source.rate = rate;
  return source;
}

Cable Of(CableKind kind, double metres = 1) {
  Cable cable;
  cable.kind = kind;
  cable.metres = metres;
  return cable;
}

double Metres(const Cable& cable, const Source& source, const NegotiatedSpeeds& speeds = {}) {
  return ReachOf(cable, source, speeds).metres.value_or(-1);
}

TEST(CoaxReach, FasterLinksAndThinnerCablesReachLess) {
  Cable cable = Of(CableKind::kSdiCoax);
  double before = 1e9;
  for (const CoaxGrade grade : {CoaxGrade::kLowLoss, CoaxGrade::kStandard, CoaxGrade::kMini}) {
    cable.grade = grade;
    const double hd = Metres(cable, Picture(1920, 1080, 30));
    const double three = Metres(cable, Picture(1920, 1080, 60));
    const double six = Metres(cable, Picture(3840, 2160, 30));
    const double twelve = Metres(cable, Picture(3840, 2160, 60));
    EXPECT_LT(hd, before);
    EXPECT_GT(hd, three);
    EXPECT_GT(three, six);
    EXPECT_GT(six, twelve);
    before = hd;
  }
}

TEST(CoaxReach, SaysWhatItIsFor) {
  Cable cable = Of(CableKind::kSdiCoax);
  const CableReach reach = ReachOf(cable, Picture(1920, 1080, 60), {});
  EXPECT_EQ(reach.carries, "3G-SDI (ST 424)");
  EXPECT_EQ(BasisText(reach.basis), "common practice");
  EXPECT_EQ(reach.metres, reach.beyond_metres);
}

TEST(CoaxReach, ARasterThatNoLinkIsKnownForHasNoLimit) {
  EXPECT_FALSE(ReachOf(Of(CableKind::kSdiCoax), Picture(1234, 567, 60), {}).metres);
}

TEST(CoaxReach, ADataSheetAtHalfTheClockLeavesNoDoubt) {
  Cable cable = Of(CableKind::kSdiCoax);
  cable.attenuation_db_per_100m = 20;
  cable.attenuation_at_mhz = 1485;
  const CableReach reach = ReachOf(cable, Picture(1920, 1080, 60), {});
  EXPECT_EQ(BasisText(reach.basis), "standard");
  EXPECT_NEAR(*reach.metres, 100, 1e-9);
  EXPECT_NEAR(*reach.beyond_metres, 100, 1e-9);
  EXPECT_THAT(reach.source, HasSubstr("20 dB at half the clock, 1485 MHz"));
}

TEST(LossPer100m, IsBoundedBothWays) {
  const LossBounds up = LossPer100m(10, 100, 400);
  EXPECT_DOUBLE_EQ(up.least_db, 20);
  EXPECT_DOUBLE_EQ(up.most_db, 40);
  const LossBounds down = LossPer100m(10, 400, 100);
  EXPECT_DOUBLE_EQ(down.least_db, 2.5);
  EXPECT_DOUBLE_EQ(down.most_db, 5);
}

TEST(TwistedPairReach, DependsOnTheSpeed) {
  const Source source = Picture(1920, 1080, 30);
  EXPECT_EQ(Metres(Of(CableKind::kCat6), source, {0, 1000}), 100);
  EXPECT_EQ(Metres(Of(CableKind::kCat6), source, {0, 10'000}), 55);
  EXPECT_EQ(Metres(Of(CableKind::kCat6a), source, {0, 10'000}), 100);
  EXPECT_EQ(Metres(Of(CableKind::kCat5e), source, {0, 10'000}), 0);
  EXPECT_EQ(Metres(Of(CableKind::kCat5e), source), 100);
}

TEST(Fibre, HasNoLimitHere) {
  EXPECT_FALSE(ReachOf(Of(CableKind::kFibre), Picture(1920, 1080, 30), {}).metres);
}

ControlChain Chain(ControlWires wires, int baud, std::vector<double> metres) {
  ControlChain chain;
  chain.wires = wires;
  chain.speed_baud = baud;
  for (const double length : metres) {
    chain.cameras.push_back({"Camera", static_cast<int>(chain.cameras.size()) + 1, length});
  }
  return chain;
}

TEST(ControlReach, Rs232CountsEachCableAndRs422TheWholeChain) {
  const ControlChain near = Chain(ControlWires::kRs232, 9600, {10, 20, 5});
  EXPECT_TRUE(ReachOf(near).each_cable);
  EXPECT_EQ(LongestMetres(near), 20);
  EXPECT_EQ(SumMetres(near), 35);
  EXPECT_FALSE(ReachOf(Chain(ControlWires::kRs422, 9600, {10})).each_cable);
  EXPECT_FALSE(ReachOf(Chain(ControlWires::kRs485, 9600, {10})).each_cable);
}

}  // namespace
}  // namespace profiles
