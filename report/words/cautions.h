// SPDX-License-Identifier: Apache-2.0
//
// Cautions: one text each, the same wherever it is read.

#pragma once

#include <string_view>

namespace report {

inline constexpr std::string_view kCautionLive =
    "It loads the PC fully: never run it during a live event.";
inline constexpr std::string_view kCautionDevices =
    "It takes the capture devices for itself: never while a program on air shows them.";
inline constexpr std::string_view kCautionHeat =
    "Watch the cooling while it runs, above all in a case or a rack. Ctrl-C stops it.";
inline constexpr std::string_view kCautionFlash =
    "Its disk tests write a lot, and flash wears: do not repeat them without need.";
inline constexpr std::string_view kCautionMains =
    "Mains, rigging and cable runs are work for licensed people; local codes come first.";
inline constexpr std::string_view kCautionInside =
    "Work inside the PC is for trained people: shut down, take the mains lead out, mind static "
    "charge and the warranty.";
inline constexpr std::string_view kCautionMoves =
    "Move plugs before the show, never during it; eject disks first.";
inline constexpr std::string_view kCautionSimulated =
    "Tested with simulated cameras; USB and PCIe links of real ones are not tested.";

}  // namespace report
