// SPDX-License-Identifier: Apache-2.0
//
// Links with what they carry, and the move plan, in words: the same wherever they are shown.

#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "report/data/document.h"
#include "report/show/blocks.h"

namespace report {

/// "5 Gb/s"; empty where no speed is known.
std::string LinkSpeedText(const WiringNode& node);

/// Row of the node that each node is connected to; its own row for one that is connected to none.
std::vector<std::size_t> ParentRows(const std::vector<WiringNode>& nodes);

/// "goes to 4-1" of what `plan` takes away from there, "came from 2-1.2" of what it puts there;
/// empty for what stays.
std::string GoesText(const MovePlan& plan, const WiringNode& node);
std::string CameText(const MovePlan& plan, const WiringNode& node);

/// Every node, a row each, in the order of the wiring; the last cell is what was found of it.
show::Table WiringTable(const Document& document);

/// The links that captures load.
show::Part LoadedLinksPart(const Document& document);

/// What to move where and why, or why nothing.
show::Part MovesPart(const Document& document);
/// The links that captures load once all is moved; empty without moves.
show::Part LinksAfterPart(const Document& document);

}  // namespace report
