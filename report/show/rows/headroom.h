// SPDX-License-Identifier: Apache-2.0
//
// Headroom in words, the same wherever it is shown.

#pragma once

#include <string>
#include <vector>

#include "report/data/document.h"
#include "report/show/blocks.h"

namespace report {

/// How a row stands, with its mark: "ok", "below the margin", "overloaded", "unproven".
show::Cell StandingOf(const Headroom& row);

/// One row as it is read; what is not known says so.
struct HeadroomTexts {
  std::string name;  // "disk /srv/takes"
  std::string needed;
  std::string available;
  std::string headroom;  // "-16 %"; "4 needed, none available" where a share says nothing; "?"
  std::string margin;
  show::Cell standing;
};
/// `unit`: the row's own, or a shorter form of it.
HeadroomTexts TextsOf(const Headroom& row, const std::string& unit);

/// Where the figure comes from: "measured", "calculated", "read from the PC", "assumed".
std::string BasisText(const Headroom& row);

/// At most `most` rows, tightest first; the caption says how many there are beside them.
show::Table HeadroomTable(const Document& document, std::size_t most);

/// "cpu 40 % (margin 25 %), disk 12 % (margin 40 %)": the tightest of the three tightest resources.
std::string TightestText(const std::vector<Headroom>& rows);

/// "measured: cpu, disk; read from the PC: network".
std::string BasisLine(const std::vector<Headroom>& rows);

}  // namespace report
