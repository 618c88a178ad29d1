// SPDX-License-Identifier: Apache-2.0
//
// Steps of one track's clock while another track runs on: nothing was set there, it is a hole.

#pragma once

#include <vector>

#include "probes/data/recording.h"

namespace probes {

/// Turns steps ahead into holes where another track of pictures or sound, whose own clock makes no
/// such step there, covers them. Tracks of one recording.
void TurnStepsIntoHoles(std::vector<TrackTimes>& tracks);

}  // namespace probes
