// SPDX-License-Identifier: Apache-2.0
//
// PCIe link sums against the Linux macro for line codes and a handbook's packet efficiency.

#include "report/loads/pcie_capacity.h"

#include <gtest/gtest.h>

namespace report {
namespace {

// Linux drivers/pci/pci.h PCIE_SPEED2MBS_ENC, which truncates to whole Mb/s per lane.
TEST(PcieCapacity, MatchesTheKernelsRatesPerLane) {
  const double mbits_per_lane[][2] = {{2.5, 2000}, {5, 4000}, {8, 7876}, {16, 15753}, {32, 31507}};
  for (const auto& [speed_gts, mbits] : mbits_per_lane) {
    EXPECT_NEAR(*PcieCodedBytesPerSecond(speed_gts, 1) * 8 / 1e6, mbits, 1) << speed_gts;
    EXPECT_DOUBLE_EQ(*PcieCodedBytesPerSecond(speed_gts, 4),
                     4 * *PcieCodedBytesPerSecond(speed_gts, 1));
  }
  EXPECT_FALSE(PcieCodedBytesPerSecond(7, 1));
  EXPECT_FALSE(PcieCodedBytesPerSecond(8, 0));
}

// An FPGA vendor's application note: 128 bytes of payload reach 82.1 to 86.5 %. Four 1080p60
// 4:2:2 inputs (995.328 MB/s) need gen 2 x4 or gen 3 x2 and do not fit gen 2 x2 or gen 3 x1.
TEST(PcieCapacity, FourFullHdInputs) {
  const auto rate = [](double speed_gts, int width) {
    probes::PciLink link;
    link.speed_gts = speed_gts;
    link.width = width;
    return *PcieBytesPerSecond(link);
  };
  EXPECT_NEAR(rate(5, 1) / 500e6, 0.842, 0.001);
  const double demand = 4 * 248.832e6;
  EXPECT_GT(rate(5, 4), demand);
  EXPECT_GT(rate(8, 2), demand);
  EXPECT_LT(rate(5, 2), demand);
  EXPECT_LT(rate(8, 1), demand);
  EXPECT_FALSE(PcieBytesPerSecond({}));
}

// E008, E010: 1080p60 4:2:2 at 8 bit does not fit gen 1 x1 and fits gen 2 x1; v210 2160p60
// (22118400 bytes a picture) fits gen 2 x4 or gen 3 x2.
TEST(PcieCapacity, OneInput) {
  const auto rate = [](double speed_gts, int width) {
    probes::PciLink link;
    link.speed_gts = speed_gts;
    link.width = width;
    return *PcieBytesPerSecond(link);
  };
  EXPECT_LT(rate(2.5, 1), 248.832e6);
  EXPECT_GT(rate(5, 1), 248.832e6);
  EXPECT_GT(rate(5, 4), 22118400 * 60.0);
  EXPECT_GT(rate(8, 2), 22118400 * 60.0);
  EXPECT_LT(rate(5, 2), 22118400 * 60.0);
}

// Guides on Thunderbolt 3 and 4: a tunnel of PCIe 3.0 x4, 32 Gb/s; from memory: 22 to 28 Gb/s of
// payload get through, which is no more than is said here.
TEST(PcieCapacity, ATunnelOfFourLanes) {
  EXPECT_NEAR(*PcieCodedBytesPerSecond(8, 4) * 8 / 1e9, 32, 0.5);
  probes::PciLink link;
  link.speed_gts = 8.0;
  link.width = 4;
  EXPECT_GE(*PcieBytesPerSecond(link) * 8 / 1e9, 22);
  EXPECT_LE(*PcieBytesPerSecond(link) * 8 / 1e9, 28);
}

}  // namespace
}  // namespace report
