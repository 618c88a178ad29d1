// SPDX-License-Identifier: Apache-2.0
//
// Which parts of the page a finding rests on, and the other way round.

#pragma once

#include <string>
#include <vector>

#include "report/data/document.h"
#include "report/show/html/pieces.h"

namespace report {

/// A place on the page: its anchor without "#", and what it is called.
struct EvidencePlace {
  std::string anchor;
  std::string name;
};

/// Anchor of the first row of a resource, "headroom-usb".
std::string HeadroomAnchor(Resource resource);

/// Places that are on this page, the nearest first.
std::vector<EvidencePlace> PlacesOf(const Document& document, const Finding& finding);
/// The same as a list of links; false when there are none.
View PlacesView(const Document& document, const Finding& finding);
/// Findings that rest on a part, as a list of links; false when there are none.
View FindingsAt(const Document& document, ReportPart part);
/// Those that bear on a resource.
View FindingsAt(const Document& document, Resource resource);

}  // namespace report
