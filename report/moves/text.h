// SPDX-License-Identifier: Apache-2.0
//
// Moves in words that a person can follow with a cable in hand.

#pragma once

#include <string>

#include "report/moves/problem.h"

namespace report {

/// "port 2 of hub NAME (2-1)", "port 1 of the PC's second USB controller
/// (0000:00:05.0), at the back": where the half of a socket is.
std::string PlaceText(const Facts& facts, const PortHalf& half, const std::string& panel);

/// "usb4-port1", with the other half of the socket where there is one:
/// "usb4-port1 (usb3-port1 for USB 2)".
std::string SocketName(const Socket& socket, double speed_mbps);

/// "LINK, 62 % in use", or that none is loaded.
std::string FullestText(const std::string& link, double percent);

/// What a plan without moves comes to: whether other places were looked at.
std::string NoMovesText(const MovePlan& plan);

}  // namespace report
