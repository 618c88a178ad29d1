// SPDX-License-Identifier: Apache-2.0
//
// Reads the cables and the chains of camera control of a profile.

#pragma once

#include <vector>

#include "profiles/profile.h"
#include "profiles/text/json_cursor.h"

namespace profiles {

/// The cable of a source that arrives by `arrives_by`: USB cables only where it
/// arrives by USB, twisted pair only where it arrives by the network.
Cable ReadCable(const JsonCursor& at, ArrivesBy arrives_by);

/// The list under /camera_control. Every camera is one of `sources`, on one
/// chain only, with an address of its own on it, at the speed of its chain.
/// `sources_known`: they were read without a mistake, so that their names can be checked.
std::vector<ControlChain> ReadCameraControl(const JsonCursor& at,
                                            const std::vector<Source>& sources, bool sources_known);

}  // namespace profiles
