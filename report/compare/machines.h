// SPDX-License-Identifier: Apache-2.0
//
// What changed of the production, and of the PC and its settings, between two results.

#pragma once

#include <vector>

#include "report/data/comparison.h"

namespace report {

/// How the profiles differ; the name and free text count too.
std::vector<ChangedFact> ChangesOfProduction(const profiles::Profile& before,
                                             const profiles::Profile& after);

/// Drivers, links, ports, settings, parts; not what changes by itself. A USB device that hangs on
/// another port is one change.
std::vector<ChangedFact> ChangesOfMachine(const probes::Inventory& before,
                                          const probes::Inventory& after);

}  // namespace report
