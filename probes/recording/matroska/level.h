// SPDX-License-Identifier: Apache-2.0
//
// Where in a Matroska document elements belong (RFC 9559, 5.1).

#pragma once

#include <cstdint>

namespace probes {

enum MatroskaLevel { kDocument, kSegment, kCluster, kGroup };

/// Whether elements of this ID are children of what is entered at this level.
bool Belongs(std::uint32_t id, MatroskaLevel level);

bool IsTopOfSegment(std::uint32_t id);

/// Whether it is a child of a segment, a cluster or a group of blocks.
bool IsKnown(std::uint32_t id);

}  // namespace probes
