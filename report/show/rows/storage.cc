// SPDX-License-Identifier: Apache-2.0
//
// Storage behind a folder, and network links.

#include <string>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "report/show/rows/machine.h"
#include "report/show/rows/unknowns.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::When;

std::string Bytes(std::int64_t bytes) {
  return base::FormatBytes(static_cast<double>(bytes));
}

std::string Joined(const std::vector<std::string>& parts) {
  std::string text;
  for (const std::string& part : parts) {
    text += (text.empty() ? "" : ", ") + part;
  }
  return text;
}

std::string LayerText(const probes::BlockLayer& layer) {
  std::string text = layer.name + " (" + layer.kind;
  if (layer.transport) {
    text += ", " + *layer.transport;
  }
  if (layer.rotational && layer.kind == "disk") {
    text += *layer.rotational ? ", spinning" : ", solid state";
  }
  if (layer.size_bytes) {
    text += ", " + Bytes(*layer.size_bytes);
  }
  text += PlaceText(layer.usb_path, layer.pci_address);
  return text + ")" + (layer.model.empty() ? "" : " " + layer.model);
}

void AddLayer(const std::string& name, const probes::BlockLayer& layer, show::Facts& facts) {
  facts.Add(name, LayerText(layer));
  Unknowns unknowns;
  unknowns.Add("connection", layer.transport);
  unknowns.Add("whether it spins", layer.rotational);
  unknowns.Add("size", layer.size_bytes);
  facts.AddMore(unknowns.Text(layer.name));
}

/// What a link counted in each direction, and why what it did not count is unknown. A count of
/// nothing is left to the long form.
void AddCounts(const probes::NetworkLink& link, show::Facts& facts) {
  std::string text;
  bool told = false;
  Unknowns unknowns;
  const auto add = [&](const char* name, const base::Reading<std::int64_t>& count) {
    unknowns.Add(name, count);
    if (count) {
      text += fmt::format("{}{} {}", text.empty() ? "since it came up: " : ", ", name,
                          FormatCount(*count));
      told = told || *count > 0;
    }
  };
  add("errors received", link.receive_errors);
  add("errors sent", link.transmit_errors);
  add("packets dropped on receipt", link.receive_drops);
  add("packets dropped before sending", link.transmit_drops);
  const std::string unknown = unknowns.Text();
  text += text.empty() || unknown.empty() ? "" : "; ";
  facts.Add("", text + unknown, told || !unknown.empty() ? When::kAlways : When::kDetails);
}

void AddUnknowns(const probes::NetworkLink& link, show::Facts& facts) {
  Unknowns unknowns;
  unknowns.Add("whether it is wireless", link.wireless);
  unknowns.Add("duplex", link.duplex);
  unknowns.Add("driver", link.driver);
  facts.AddMore(unknowns.Text());
}

std::string LinkText(const probes::NetworkLink& link) {
  const auto speed = [](double mbps) { return base::FormatBitsPerSecond(mbps * 1e6); };
  std::string text =
      link.up ? (*link.up ? "up" : "down") : "state unknown: " + link.up.why_unknown();
  if (link.loopback) {
    return text + ", loopback";
  }
  text += link.wireless ? (*link.wireless ? ", wireless" : ", wired") : "";
  text += ", " + (link.speed_mbps ? speed(*link.speed_mbps)
                                  : "speed unknown: " + link.speed_mbps.why_unknown());
  text += link.duplex ? ", " + *link.duplex + " duplex" : "";
  text += link.driver ? ", driver " + (link.driver->empty() ? "none" : *link.driver) : "";
  text += link.usb_path.empty() ? "" : ", on USB " + link.usb_path;
  text += link.default_route ? ", default route" : "";
  text += link.mtu_bytes ? fmt::format(", MTU {}", *link.mtu_bytes)
                         : ", MTU unknown: " + link.mtu_bytes.why_unknown();
  return text;
}

}  // namespace

show::Part StoragePart(const probes::StorageInventory& place) {
  show::Facts facts;
  facts.Add("mounted at", place.mount_point);
  facts.Add("filesystem", place.filesystem);
  facts.Add("options", place.mount_options, Joined);
  facts.Add("size", place.size_bytes, Bytes);
  facts.Add("free", place.free_bytes, Bytes);
  facts.Add("largest file", place.largest_file_bytes, Bytes);
  facts.Add("may be written", place.writable, YesNo);
  for (std::size_t at = 0; at < place.layers.size(); ++at) {
    AddLayer(at == 0 ? "stands on" : "", place.layers[at], facts);
  }
  if (!place.why_no_layers.empty()) {
    facts.AddUnknown("stands on", place.why_no_layers);
  }
  return PartOf("Storage behind " + place.folder, std::move(facts));
}

show::Part NetworkPart(const probes::NetworkInventory& network) {
  show::Facts facts;
  if (!network.why_unknown.empty()) {
    facts.AddUnknown("links", network.why_unknown);
  } else if (network.links.empty()) {
    facts.Add("links", "none");
  }
  for (const probes::NetworkLink& link : network.links) {
    facts.Add(link.name, LinkText(link));
    if (!link.loopback) {
      AddCounts(link, facts);
      AddUnknowns(link, facts);
    }
  }
  return PartOf("Network", std::move(facts));
}

}  // namespace report
