// SPDX-License-Identifier: Apache-2.0
//
// An invented machine for the writers' tests.

#pragma once

#include "probes/data/inventory.h"

namespace tests {

/// Six cores, a graphics adapter that refuses to encode, two cameras on one hub.
probes::Inventory SampleInventory();

}  // namespace tests
