// SPDX-License-Identifier: Apache-2.0
//
// What findings bear and rest on, as anchors of the page.

#include "report/show/html/evidence.h"

#include <algorithm>
#include <set>
#include <string_view>

#include "report/data/finding.h"

namespace report {
namespace {

/// A word as it stands in an anchor.
std::string Anchored(std::string_view word) {
  std::string anchor(word);
  std::replace(anchor.begin(), anchor.end(), ' ', '-');
  return anchor;
}

EvidencePlace PlaceOf(ReportPart part) {
  const std::string word(base::WordOf(part));
  return {Anchored(word), part == ReportPart::kOverTime ? "the rehearsal over time" : word};
}

bool Ran(const Document& document) {
  return document.evidence.results.rehearsal.has_value();
}

bool HasRow(const Document& document, Resource resource) {
  return std::any_of(document.headroom.begin(), document.headroom.end(),
                     [&](const Headroom& row) { return row.resource == resource; });
}

/// Whether the page of this document has it.
bool There(const Document& document, ReportPart part) {
  switch (part) {
    case ReportPart::kWiring:
      return !document.wiring.empty();
    case ReportPart::kDiskRun:
      return !document.evidence.results.disks.empty();
    case ReportPart::kDrops:
    case ReportPart::kOverTime:
      return Ran(document);
    case ReportPart::kProduction:
    case ReportPart::kDemand:
    case ReportPart::kMachine:
    case ReportPart::kRehearsal:
      break;
  }
  return true;
}

template <typename Wanted>
View LinksTo(const Document& document, Wanted wanted) {
  ViewList list;
  std::set<std::string> seen;
  for (const Finding& finding : document.findings) {
    if (wanted(finding) && seen.insert(finding.id).second) {
      View view("link", View("#" + AnchorOf(finding.id)));
      view.set("text", View(finding.title));
      list.emplace_back(view);
    }
  }
  View view = SectionOf("links", list);
  if (!list.empty()) {
    view.set("see", View("Findings:"));
  }
  return view;
}

}  // namespace

std::string HeadroomAnchor(Resource resource) {
  return "headroom-" + Anchored(base::WordOf(resource));
}

std::vector<EvidencePlace> PlacesOf(const Document& document, const Finding& finding) {
  std::vector<EvidencePlace> places;
  for (const Resource resource : finding.bears_on) {
    if (HasRow(document, resource)) {
      places.push_back({HeadroomAnchor(resource), "headroom of " + RowName(resource, "")});
    }
  }
  for (const ReportPart part : finding.rests_on) {
    if (There(document, part)) {
      places.push_back(PlaceOf(part));
    }
  }
  return places;
}

View PlacesView(const Document& document, const Finding& finding) {
  ViewList list;
  for (const EvidencePlace& place : PlacesOf(document, finding)) {
    View view("link", View("#" + place.anchor));
    view.set("text", View(place.name));
    list.emplace_back(view);
  }
  View view = SectionOf("links", list);
  if (!list.empty()) {
    view.set("see", View("Rests on:"));
  }
  return view;
}

View FindingsAt(const Document& document, ReportPart part) {
  return LinksTo(document, [&](const Finding& finding) {
    return std::find(finding.rests_on.begin(), finding.rests_on.end(), part) !=
           finding.rests_on.end();
  });
}

View FindingsAt(const Document& document, Resource resource) {
  return LinksTo(document, [&](const Finding& finding) { return BearsOn(finding, resource); });
}

}  // namespace report
