// SPDX-License-Identifier: Apache-2.0
//
// Sound devices, from /sys/class/sound and /proc/asound/cards.

#pragma once

#include <map>
#include <string>
#include <string_view>

#include "base/system/machine_root.h"
#include "probes/data/board_sound.h"

namespace probes {

SoundInventory ReadSound(const base::MachineRoot& root);

/// Names of the cards by their numbers: of " 0 [ID   ]: DRIVER - NAME" the last part.
std::map<int, std::string> ParseSoundCards(std::string_view text);

}  // namespace probes
