// SPDX-License-Identifier: Apache-2.0
//
// PCIe link sums. Sources: Linux drivers/pci/pci.h PCIE_SPEED2MBS_ENC for line codes; packet
// headers of 20 to 28 bytes from an FPGA vendor's application note, the middle taken here.

#include "report/loads/pcie_capacity.h"

namespace report {

std::optional<double> PcieCodedBytesPerSecond(double speed_gts, int width) {
  if (width <= 0) {
    return std::nullopt;
  }
  const double bits_per_second = speed_gts * 1e9 * width;
  if (speed_gts == 2.5 || speed_gts == 5) {
    return bits_per_second * 8 / 10 / 8;
  }
  if (speed_gts == 8 || speed_gts == 16 || speed_gts == 32) {
    return bits_per_second * 128 / 130 / 8;
  }
  return std::nullopt;
}

std::optional<double> PcieBytesPerSecond(const probes::PciLink& link) {
  constexpr double kPayloadBytes = 128;
  constexpr double kHeaderBytes = 24;
  if (!link.speed_gts.known() || !link.width.known()) {
    return std::nullopt;
  }
  const std::optional<double> coded = PcieCodedBytesPerSecond(*link.speed_gts, *link.width);
  if (!coded) {
    return std::nullopt;
  }
  return *coded * kPayloadBytes / (kPayloadBytes + kHeaderBytes);
}

}  // namespace report
