// SPDX-License-Identifier: Apache-2.0
//
// Cautions: one text each, the same wherever it is read.

#pragma once

#include <array>
#include <string>
#include <string_view>

namespace report {

inline constexpr std::string_view kCautionLive =
    "A test loads the PC fully: never run one during a live event.";
inline constexpr std::string_view kCautionDevices =
    "A check takes the capture devices for itself: never run one during a live event.";
inline constexpr std::string_view kCautionHeat =
    "Watch the cooling while it runs, above all in a case or a rack, and stop it when the PC gets "
    "too hot.";
inline constexpr std::string_view kCautionFlash =
    "Tests write a lot to the disk, and flash wears: do not repeat them without need.";
inline constexpr std::string_view kCautionMains =
    "Mains, rigging and cable runs are work for licensed people; local codes come first.";
inline constexpr std::string_view kCautionInside =
    "Work inside the PC is for trained people: shut down, take the mains lead out, mind static "
    "charge and the warranty.";
inline constexpr std::string_view kCautionMoves =
    "Move plugs before the show, never during it; eject disks first.";
inline constexpr std::string_view kCautionSimulated =
    "Tested with simulated cameras; USB and PCIe links of real ones are not tested.";

/// What to mind before a run that loads the PC, and before one that opens its cameras.
inline constexpr std::array kLoadCautions{kCautionLive, kCautionHeat, kCautionFlash, kCautionMains};
inline constexpr std::array kDeviceCautions{kCautionDevices, kCautionHeat, kCautionMains};

/// Advice that asks for work with a risk, and the caution behind it.
inline std::string WithCaution(std::string_view advice, std::string_view caution) {
  return std::string(advice).append(" ").append(caution);
}

}  // namespace report
