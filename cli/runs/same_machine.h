// SPDX-License-Identifier: Apache-2.0
//
// Whether a stored result is of this PC, as far as can be told.

#pragma once

#include <string>

#include "probes/data/inventory.h"

namespace cli {

/// What speaks against it, one line; empty where nothing does. Names of PCs are not stored: CPU,
/// threads, memory and kernel's view of them are compared.
std::string WhyNotThisPc(const probes::Inventory& stored, const probes::Inventory& here);

}  // namespace cli
