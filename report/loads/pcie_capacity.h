// SPDX-License-Identifier: Apache-2.0
//
// What a PCIe link carries for a capture card.

#pragma once

#include <optional>

#include "probes/data/pci_gpu.h"

namespace report {

/// Bytes/s in one direction after line code (8b/10b to 5 GT/s, 128b/130b
/// from 8 GT/s); nothing for an unknown generation.
std::optional<double> PcieCodedBytesPerSecond(double speed_gts, int width);

/// The same less packet headers: 128 bytes of payload cost 24 more.
std::optional<double> PcieBytesPerSecond(const probes::PciLink& link);

}  // namespace report
