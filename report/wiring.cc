// SPDX-License-Identifier: Apache-2.0
//
// UsbLink to WiringNode.

#include "report/wiring.h"

#include <algorithm>
#include <cctype>
#include <cstddef>

#include "base/text.h"

namespace report {
namespace {

std::string KindOf(const UsbLink& link) {
  if (link.device == nullptr) {
    return "controller";
  }
  if (link.RootHub()) {
    return "root hub";
  }
  switch (link.device->role) {
    case probes::UsbRole::kHub:
      return "hub";
    case probes::UsbRole::kCapture:
      return "capture";
    case probes::UsbRole::kAudio:
      return "audio";
    case probes::UsbRole::kStorage:
      return "storage";
    case probes::UsbRole::kNetwork:
      return "network";
    case probes::UsbRole::kInput:
    case probes::UsbRole::kOther:
      break;
  }
  return "other";
}

std::string LabelOf(const UsbLink& link) {
  if (link.device == nullptr) {
    return link.controller == nullptr ? std::string() : base::Printable(link.controller->name);
  }
  std::string label = link.device->vendor;
  if (!link.device->product.empty()) {
    label += (label.empty() ? "" : " ") + link.device->product;
  }
  return base::Printable(label);
}

bool InsidePath(char c) {
  return std::isalnum(static_cast<unsigned char>(c)) != 0 || c == '-' || c == '.' || c == ':';
}

// A full stop or colon that ends a sentence does not continue a path.
bool GoesOn(const std::string& text, std::size_t at) {
  if (at >= text.size() || !InsidePath(text[at])) {
    return false;
  }
  const bool stop = text[at] == '.' || text[at] == ':';
  return !stop || (at + 1 < text.size() && InsidePath(text[at + 1]));
}

}  // namespace

bool NamesPath(const std::string& text, const std::string& path) {
  if (path.empty()) {
    return false;
  }
  for (std::size_t at = text.find(path); at != std::string::npos; at = text.find(path, at + 1)) {
    const bool starts = at == 0 || !InsidePath(text[at - 1]);
    if (starts && !GoesOn(text, at + path.size())) {
      return true;
    }
  }
  return false;
}

std::vector<WiringNode> BuildWiring(const std::vector<UsbLink>& links,
                                    const std::vector<Finding>& findings) {
  std::vector<WiringNode> nodes;
  for (const UsbLink& link : links) {
    WiringNode node;
    node.path = link.Path();
    node.label = LabelOf(link);
    node.kind = KindOf(link);
    node.depth = link.depth;
    node.speed_mbps = link.device != nullptr ? link.device->speed_mbps : 0;
    if (!link.captures.empty()) {
      node.demand_bytes_per_second = link.bytes_per_second;
      node.capacity_bytes_per_second = link.capacity_bytes_per_second;
    }
    for (const Finding& finding : findings) {
      const bool named = NamesPath(finding.title, node.path) ||
                         std::any_of(finding.evidence.begin(), finding.evidence.end(),
                                     [&](const auto& line) { return NamesPath(line, node.path); });
      const bool kept = std::find(node.finding_ids.begin(), node.finding_ids.end(), finding.id) !=
                        node.finding_ids.end();
      if (named && !kept) {
        node.finding_ids.push_back(finding.id);
      }
    }
    nodes.push_back(std::move(node));
  }
  return nodes;
}

}  // namespace report
