// SPDX-License-Identifier: Apache-2.0
//
// UsbLink to WiringNode.

#include "report/wiring.h"

#include <algorithm>
#include <cctype>
#include <cstddef>

#include <fmt/format.h>

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
  if (link.reservable_us && link.isochronous) {
    node.reserved_us = link.reserved.most_us;
    node.reservable_us = link.reservable_us;
  }
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

/// The move of a capture whose `end` is there.
const Move* FindMove(const MovePlan& plan, const WiringNode& node, std::string Move::*end) {
  const auto found = std::find_if(plan.moves.begin(), plan.moves.end(),
                                  [&](const Move& move) { return move.*end == node.path; });
  return node.kind != "capture" || found == plan.moves.end() ? nullptr : &*found;
}

}  // namespace

bool NodeLoaded(const WiringNode& node) {
  return node.demand_bytes_per_second && (node.kind != "root hub" || node.used_percent);
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
  return text;
}

std::string NodeReservedText(const WiringNode& node) {
  if (node.reserved_us.value_or(0) <= 0 || !node.reservable_us) {
    return "";
  }
  return fmt::format("{:.3g} of {:.4g} us reserved", *node.reserved_us, *node.reservable_us);
}

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
