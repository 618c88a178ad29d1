// SPDX-License-Identifier: Apache-2.0
//
// UsbLink to WiringNode.

#include "report/loads/wiring.h"

#include <algorithm>

#include <fmt/format.h>

#include "base/text.h"
#include "report/data/finding.h"
#include "report/loads/subjects.h"

namespace report {
namespace {

NodeKind KindOf(const UsbLink& link) {
  if (link.device == nullptr) {
    return NodeKind::kController;
  }
  if (link.RootHub()) {
    return NodeKind::kRootHub;
  }
  switch (link.device->role) {
    case probes::UsbRole::kHub:
      return NodeKind::kHub;
    case probes::UsbRole::kCapture:
      return NodeKind::kCapture;
    case probes::UsbRole::kAudio:
      return NodeKind::kAudio;
    case probes::UsbRole::kStorage:
      return NodeKind::kStorage;
    case probes::UsbRole::kNetwork:
      return NodeKind::kNetwork;
    case probes::UsbRole::kInput:
    case probes::UsbRole::kOther:
      break;
  }
  return NodeKind::kOther;
}

std::string LabelOf(const UsbLink& link) {
  if (link.device == nullptr) {
    return link.controller == nullptr ? std::string() : base::Printable(link.controller->name);
  }
  return base::Printable(DeviceName(*link.device));
}

// What a capture streams; what audio may hold beside captures.
std::string RemarkOf(const UsbLink& link, const std::vector<UsbStream>& streams) {
  if (link.device == nullptr) {
    return {};
  }
  const UsbStream* stream = FindStream(streams, link.device);
  if (stream != nullptr) {
    return StreamText(stream->shown, link.device->speed_mbps);
  }
  if (!link.captures.empty() && link.others_us > 0) {
    return fmt::format("audio beside the pictures may reserve {:.3g} us", link.others_us);
  }
  return {};
}

void AddLoad(const UsbLink& link, WiringNode& node) {
  if (link.captures.empty()) {
    return;
  }
  node.demand_bytes_per_second = link.bytes_per_second;
  node.capacity_bytes_per_second = link.capacity_bytes_per_second;
  node.used_percent = UsedPercent(link);
  node.assumed = link.assumed_bytes_per_second > 0;
  if (link.reservable_us && link.isochronous) {
    node.reserved_us = link.reserved.most_us;
    node.reservable_us = link.reservable_us;
  }
}

// One id once, however many findings of its kind are about the link.
std::vector<std::string> IdsOf(const std::vector<Finding>& findings, const UsbLink& link) {
  std::vector<std::string> ids;
  for (const Finding& finding : findings) {
    if (IsAbout(finding, SubjectOf(link)) &&
        std::find(ids.begin(), ids.end(), finding.id) == ids.end()) {
      ids.push_back(finding.id);
    }
  }
  return ids;
}

/// The move of a capture whose `end` is there.
const Move* FindMove(const MovePlan& plan, const WiringNode& node, std::string Move::*end) {
  const auto found = std::find_if(plan.moves.begin(), plan.moves.end(),
                                  [&](const Move& move) { return move.*end == node.path; });
  return node.kind != NodeKind::kCapture || found == plan.moves.end() ? nullptr : &*found;
}

}  // namespace

bool NodeLoaded(const WiringNode& node) {
  return node.demand_bytes_per_second && (node.kind != NodeKind::kRootHub || node.used_percent);
}

const Move* MovedFrom(const MovePlan& plan, const WiringNode& node) {
  return FindMove(plan, node, &Move::path);
}

const Move* MovedTo(const MovePlan& plan, const WiringNode& node) {
  return FindMove(plan, node, &Move::new_path);
}

std::string NodeLoadText(const WiringNode& node) {
  if (!node.demand_bytes_per_second) {
    return "";
  }
  std::string text = base::FormatBytesPerSecond(*node.demand_bytes_per_second);
  if (node.capacity_bytes_per_second) {
    text += " of " + base::FormatBytesPerSecond(*node.capacity_bytes_per_second);
  }
  return node.assumed ? text + " (assumed)" : text;
}

std::string NodeReservedText(const WiringNode& node) {
  if (node.reserved_us.value_or(0) <= 0 || !node.reservable_us) {
    return "";
  }
  return fmt::format("{:.3g} of {:.4g} us reserved", *node.reserved_us, *node.reservable_us);
}

std::vector<WiringNode> BuildWiring(const std::vector<UsbLink>& links,
                                    const std::vector<UsbStream>& streams,
                                    const std::vector<Finding>& findings) {
  std::vector<WiringNode> nodes;
  for (const UsbLink& link : links) {
    WiringNode node;
    node.path = link.Path();
    node.label = LabelOf(link);
    node.kind = KindOf(link);
    node.depth = link.depth;
    node.speed_mbps = link.device != nullptr ? link.device->speed_mbps : 0;
    AddLoad(link, node);
    node.remark = RemarkOf(link, streams);
    node.finding_ids = IdsOf(findings, link);
    nodes.push_back(std::move(node));
  }
  return nodes;
}

}  // namespace report
