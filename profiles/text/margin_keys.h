// SPDX-License-Identifier: Apache-2.0
//
// The keys of a profile's margins, their members and their upper limits.

#pragma once

#include <array>
#include <string_view>

#include "profiles/profile.h"

namespace profiles {

struct MarginKey {
  std::string_view name;
  double Margins::*member;
  double most;
};

inline constexpr std::array kMarginKeys{
    MarginKey{"cpu_percent", &Margins::cpu_percent, 95},
    MarginKey{"encoder_percent", &Margins::encoder_percent, 95},
    MarginKey{"disk_percent", &Margins::disk_percent, 95},
    MarginKey{"usb_percent", &Margins::usb_percent, 95},
    MarginKey{"network_percent", &Margins::network_percent, 95},
    MarginKey{"memory_percent", &Margins::memory_percent, 95},
    MarginKey{"allowed_drops_per_hour", &Margins::allowed_drops_per_hour, 100'000},
};

}  // namespace profiles
