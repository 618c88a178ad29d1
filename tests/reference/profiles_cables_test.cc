// SPDX-License-Identifier: Apache-2.0
//
// Lengths of cables against published limits and trade figures.

#include <gtest/gtest.h>

#include "profiles/demand/cable_reach.h"

namespace profiles {
namespace {

Source Picture(int width, int height, int rate) {
  Source source;
  source.raster = {width, height};
  source.rate = rate;
  return source;
}

double MetresOf(CableKind kind, const Source& source, const NegotiatedSpeeds& speeds) {
  Cable cable;
  cable.kind = kind;
  return ReachOf(cable, source, speeds).metres.value_or(-1);
}

// A trade article (public, on 12G-SDI): one cable of the RG-6 size carries HD 113 m and 3G
// 78 m, both by SMPTE's 20 dB at half the clock. So it loses 20/1.13 dB in 100 m at 742.5 MHz
// and 20/0.78 dB at 1485 MHz: the bounds from the one must hold the other, and the reach too.
TEST(CoaxLoss, TwoFiguresOfOneCableAgree) {
  const double at_half_hd = 20 / 1.13;
  const LossBounds at_half_3g = LossPer100m(at_half_hd, 742.5, 1485);
  EXPECT_LE(at_half_3g.least_db, 20 / 0.78);
  EXPECT_GE(at_half_3g.most_db, 20 / 0.78);
  Cable cable;
  cable.attenuation_db_per_100m = at_half_hd;
  cable.attenuation_at_mhz = 742.5;
  EXPECT_NEAR(*ReachOf(cable, Picture(1920, 1080, 30), {}).metres, 113, 0.01);
  const CableReach fast = ReachOf(cable, Picture(1920, 1080, 60), {});
  EXPECT_LE(*fast.metres, 78);
  EXPECT_GE(*fast.beyond_metres, 78);
}

// SMPTE 292M and 424M: 20 dB; ST 2081-1, ST 2082-1: 40 dB (a cable maker's public chart and
// a cable shop's page quote them; the standards were not opened).
TEST(CoaxLoss, LimitsAtHalfTheClock) {
  EXPECT_EQ(SdiLossLimitDb(1485e6), 20);
  EXPECT_EQ(SdiLossLimitDb(2970e6), 20);
  EXPECT_EQ(SdiLossLimitDb(5940e6), 40);
  EXPECT_EQ(SdiLossLimitDb(11880e6), 40);
}

// Common practice, from memory: HD about 100 to 150 m, 3G 80 to 100 m, 12G 40 to 70 m.
TEST(CoaxReach, GoodCableLiesInTheTradesRanges) {
  Cable cable;
  const auto reach = [&](CoaxGrade grade, const Source& source) {
    cable.grade = grade;
    return *ReachOf(cable, source, {}).metres;
  };
  for (const CoaxGrade grade : {CoaxGrade::kStandard, CoaxGrade::kLowLoss}) {
    EXPECT_GE(reach(grade, Picture(1280, 720, 50)), 100);
    EXPECT_LE(reach(grade, Picture(1280, 720, 50)), 150);
    EXPECT_GE(reach(grade, Picture(1920, 1080, 50)), 80);
    EXPECT_LE(reach(grade, Picture(1920, 1080, 50)), 100);
    EXPECT_GE(reach(grade, Picture(3840, 2160, 50)), 40);
    EXPECT_LE(reach(grade, Picture(3840, 2160, 50)), 70);
  }
}

// A hub's manual: 5 m, six of them with five hubs make 30 m. An encyclopedia: 3 m at 5 Gb/s is
// what AWG 26 reaches. From memory: about 1 m at 10 Gb/s.
TEST(UsbReach, PassiveCables) {
  const Source source = Picture(1920, 1080, 30);
  EXPECT_EQ(MetresOf(CableKind::kUsb2, source, {}), 5);
  EXPECT_EQ(MetresOf(CableKind::kUsb3, source, {5000, 0}), 3);
  EXPECT_EQ(MetresOf(CableKind::kUsb3, source, {10'000, 0}), 1);
}

// A maker's manual of converters (public): 15 m for 1080p at 8 bit, 5 m for 2160p30, 3 m for
// 2160p60.
TEST(HdmiReach, CopperWithoutElectronics) {
  EXPECT_EQ(MetresOf(CableKind::kHdmi, Picture(1920, 1080, 60), {}), 15);
  EXPECT_EQ(MetresOf(CableKind::kHdmi, Picture(3840, 2160, 30), {}), 5);
  EXPECT_EQ(MetresOf(CableKind::kHdmi, Picture(3840, 2160, 60), {}), 3);
}

// ANSI/TIA-568: 100 m; a guide to cable distances: 10GBASE-T 55 m on Cat 6, 100 m on Cat 6A.
TEST(TwistedPairReach, Channels) {
  const Source source = Picture(1920, 1080, 30);
  EXPECT_EQ(MetresOf(CableKind::kCat5e, source, {0, 1000}), 100);
  EXPECT_EQ(MetresOf(CableKind::kCat6, source, {0, 10'000}), 55);
  EXPECT_EQ(MetresOf(CableKind::kCat6a, source, {0, 10'000}), 100);
}

ControlChain Chain(ControlWires wires, int baud) {
  ControlChain chain;
  chain.wires = wires;
  chain.speed_baud = baud;
  return chain;
}

// Vendors' pages: RS-232 15 m (50 feet) up to 19200 baud, the length doubles as the speed
// halves. A handbook: RS-422 and RS-485 1200 m up to 100 kbit/s.
TEST(ControlReach, HandbookLengths) {
  EXPECT_NEAR(ReachOf(Chain(ControlWires::kRs232, 19200)).metres, 15.24, 0.01);
  EXPECT_NEAR(ReachOf(Chain(ControlWires::kRs232, 9600)).metres, 30.48, 0.01);
  EXPECT_EQ(ReachOf(Chain(ControlWires::kRs422, 9600)).metres, 1200);
  EXPECT_EQ(ReachOf(Chain(ControlWires::kRs485, 57600)).metres, 1200);
  EXPECT_LT(ReachOf(Chain(ControlWires::kRs422, 115200)).metres, 1200);
}

}  // namespace
}  // namespace profiles
