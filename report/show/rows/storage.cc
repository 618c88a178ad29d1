// SPDX-License-Identifier: Apache-2.0
//
// Storage behind a folder, and network links.

#include <string>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "report/show/rows/machine.h"
#include "report/words/quantities.h"

namespace report {
namespace {

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
  text += layer.usb_path.empty() ? "" : ", on USB " + layer.usb_path;
  return text + ")" + (layer.model.empty() ? "" : " " + layer.model);
}

/// Both ways together; unknown where either is.
std::string CountText(const base::Reading<std::int64_t>& in, const base::Reading<std::int64_t>& out,
                      const std::string& word) {
  return in && out ? Plural(*in + *out, word) : word + "s unknown";
}

std::string FaultsText(const probes::NetworkLink& link) {
  const bool counted =
      link.receive_errors || link.transmit_errors || link.receive_drops || link.transmit_drops;
  const bool none = link.receive_errors.value_or(1) + link.transmit_errors.value_or(1) +
                        link.receive_drops.value_or(1) + link.transmit_drops.value_or(1) ==
                    0;
  if (none || !counted) {
    return none ? "" : ", errors and drops unknown";
  }
  return ", " + CountText(link.receive_errors, link.transmit_errors, "error") + " and " +
         CountText(link.receive_drops, link.transmit_drops, "drop") + " since start";
}

std::string LinkText(const probes::NetworkLink& link) {
  const auto speed = [](double mbps) { return base::FormatBitsPerSecond(mbps * 1e6); };
  std::string text = link.up ? (*link.up ? "up" : "down") : "state unknown";
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
  text += link.mtu_bytes ? fmt::format(", MTU {}", *link.mtu_bytes) : ", MTU unknown";
  return text + FaultsText(link);
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
    facts.Add(at == 0 ? "stands on" : "", LayerText(place.layers[at]));
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
  }
  return PartOf("Network", std::move(facts));
}

}  // namespace report
