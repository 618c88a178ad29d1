// SPDX-License-Identifier: Apache-2.0
//
// Findings are known by the beginning of their id, places by anchors of ours.

#include "report/html_evidence.h"

#include <algorithm>
#include <array>
#include <set>
#include <string_view>

namespace report {
namespace {

struct RestsOn {
  std::string_view id_begins;
  std::array<std::string_view, 3> anchors;
};

constexpr std::array kRestsOn{
    RestsOn{"usb-", {"wiring", "headroom-usb", ""}},
    RestsOn{"pcie-", {"headroom-pcie", "machine", ""}},
    RestsOn{"disk-", {"headroom-disk", "disk", "headroom-space"}},
    RestsOn{"swap-", {"headroom-disk", "machine", ""}},
    RestsOn{"space-", {"headroom-space", "", ""}},
    RestsOn{"file-", {"headroom-space", "demand", ""}},
    RestsOn{"folder-", {"headroom-space", "", ""}},
    RestsOn{"network-", {"headroom-network", "machine", ""}},
    RestsOn{"uplink-", {"headroom-uplink", "demand", ""}},
    RestsOn{"encoder-", {"headroom-encoder", "machine", ""}},
    RestsOn{"memory-", {"headroom-memory", "", ""}},
    RestsOn{"display", {"headroom-displays", "machine", ""}},
    RestsOn{"cpu-", {"headroom-cpu", "over-time", "machine"}},
    RestsOn{"background-", {"headroom-cpu", "over-time", ""}},
    RestsOn{"host-", {"headroom-cpu", "over-time", ""}},
    RestsOn{"virtual-", {"headroom-cpu", "machine", ""}},
    RestsOn{"power", {"headroom-cpu", "machine", ""}},
    RestsOn{"drop", {"drops", "over-time", ""}},
    RestsOn{"frames-", {"drops", "over-time", ""}},
    RestsOn{"output-", {"rehearsal", "drops", ""}},
    RestsOn{"rehearsal-", {"rehearsal", "", ""}},
    RestsOn{"step-", {"over-time", "", ""}},
    RestsOn{"cable-", {"production", "", ""}},
    RestsOn{"control-", {"production", "", ""}},
    RestsOn{"level-", {"demand", "", ""}},
    RestsOn{"rates-", {"production", "", ""}},
    RestsOn{"sleep-", {"machine", "", ""}},
    RestsOn{"clock-", {"machine", "", ""}},
    RestsOn{"work-", {"machine", "", ""}},
};

constexpr std::array<std::string_view, 11> kResources{"cpu",    "encoder",  "disk", "space",
                                                      "memory", "usb",      "pcie", "network",
                                                      "uplink", "displays", "cable"};

constexpr std::string_view kHeadroom = "headroom-";

std::string NameOf(std::string_view anchor) {
  if (anchor.starts_with(kHeadroom)) {
    return "headroom of " + std::string(anchor.substr(kHeadroom.size()));
  }
  if (anchor == "over-time") {
    return "the rehearsal over time";
  }
  return anchor == "drops" ? "drops" : std::string(anchor);
}

bool Ran(const Document& document) {
  return document.evidence.results.rehearsal.has_value();
}

/// Whether the page of this document has it.
bool There(const Document& document, std::string_view anchor) {
  if (anchor.starts_with(kHeadroom)) {
    return std::any_of(document.headroom.begin(), document.headroom.end(),
                       [&](const auto& row) { return HeadroomAnchor(row.resource) == anchor; });
  }
  if (anchor == "wiring") {
    return !document.wiring.empty();
  }
  if (anchor == "disk") {
    return !document.evidence.results.disks.empty();
  }
  if (anchor == "drops" || anchor == "over-time") {
    return Ran(document);
  }
  return !anchor.empty();
}

}  // namespace

std::string HeadroomAnchor(const std::string& resource) {
  const bool ours = std::find(kResources.begin(), kResources.end(), resource) != kResources.end();
  return ours ? std::string(kHeadroom) + resource : "";
}

std::vector<EvidencePlace> PlacesOf(const Document& document, const Finding& finding) {
  std::vector<EvidencePlace> places;
  for (const RestsOn& rests : kRestsOn) {
    if (!finding.id.starts_with(rests.id_begins)) {
      continue;
    }
    for (const std::string_view anchor : rests.anchors) {
      if (There(document, anchor)) {
        places.push_back({std::string(anchor), NameOf(anchor)});
      }
    }
    break;
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

View FindingsAt(const Document& document, const std::string& anchor) {
  ViewList list;
  std::set<std::string> seen;
  for (const Finding& finding : document.findings) {
    const auto places = PlacesOf(document, finding);
    const bool here = std::any_of(places.begin(), places.end(),
                                  [&](const auto& place) { return place.anchor == anchor; });
    if (here && seen.insert(finding.id).second) {
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

}  // namespace report
