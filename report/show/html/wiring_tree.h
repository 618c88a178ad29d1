// SPDX-License-Identifier: Apache-2.0
//
// A tree of USB links as the page draws it: the wiring as it is, and after the moves.

#pragma once

#include <string>
#include <vector>

#include "report/data/document.h"
#include "report/show/html/pieces.h"

namespace report {

/// What a drawing says of a node beside the node's own facts.
struct NodeNote {
  Mark mark = Mark::kNone;
  std::string moved;  // "goes to 4-1"; empty: it stays
};

/// For the partial "tree": coordinates in the drawing's own units. `nodes` depth first, one note
/// for each; `title` is what a screen reader says of it.
View TreeView(const std::vector<WiringNode>& nodes, const std::vector<NodeNote>& notes,
              const std::string& title);

}  // namespace report
