// SPDX-License-Identifier: Apache-2.0

#include "probes/usb/tree.h"

#include <algorithm>
#include <functional>
#include <iterator>
#include <map>
#include <string>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"

namespace probes {
namespace {

constexpr std::int64_t kMostNumber = 0xffff;

std::optional<int> ParseNumber(std::string_view text) {
  const bool digits =
      !text.empty() && std::ranges::all_of(text, [](char c) { return c >= '0' && c <= '9'; });
  const auto value = digits ? base::ParseInt(text) : std::nullopt;
  if (!value || *value < 1 || *value > kMostNumber) {
    return std::nullopt;
  }
  return static_cast<int>(*value);
}

bool HasClass(const UsbDevice& device, int interface_class) {
  return std::ranges::any_of(device.interfaces, [&](const UsbInterface& interface) {
    return interface.interface_class == interface_class;
  });
}

/// Network functions of the communication class (ECM, EEM, NCM, MBIM) and RNDIS.
bool IsNetwork(const UsbInterface& interface) {
  const int subclass = interface.subclass;
  switch (interface.interface_class) {
    case 0x02:
      return subclass == 0x06 || (subclass >= 0x0c && subclass <= 0x0e);
    case 0xe0:
      return subclass == 0x01 && interface.protocol == 0x03;
    case 0xef:
      return subclass == 0x04 && interface.protocol == 0x01;
    default:
      return false;
  }
}

/// Groups of names, merged pair by pair (union-find without ranks: hubs are few).
class NameGroups {
 public:
  std::string Find(const std::string& name) const {
    std::string top = name;
    for (auto above = above_.find(top); above != above_.end(); above = above_.find(top)) {
      top = above->second;
    }
    return top;
  }

  void Merge(const std::string& a, const std::string& b) {
    const std::string top_a = Find(a);
    const std::string top_b = Find(b);
    if (top_a != top_b) {
      above_[top_b] = top_a;
    }
  }

 private:
  std::map<std::string, std::string, std::less<>> above_;
};

}  // namespace

std::string UsbPath::Parent() const {
  if (ports.empty()) {
    return {};
  }
  if (ports.size() == 1) {
    return fmt::format("usb{}", bus);
  }
  return fmt::format("{}-{}", bus, fmt::join(ports.begin(), std::prev(ports.end()), "."));
}

std::optional<UsbPath> ParseUsbPath(std::string_view name) {
  if (name.starts_with("usb")) {
    const auto bus = ParseNumber(name.substr(3));
    return bus ? std::optional(UsbPath{*bus, {}}) : std::nullopt;
  }
  const std::size_t dash = name.find('-');
  const auto bus = ParseNumber(name.substr(0, dash));
  if (dash == std::string_view::npos || !bus) {
    return std::nullopt;
  }
  UsbPath path{*bus, {}};
  for (const std::string_view part : base::Split(name.substr(dash + 1), '.')) {
    const auto port = ParseNumber(part);
    if (!port) {
      return std::nullopt;
    }
    path.ports.push_back(*port);
  }
  return path;
}

double ParseUsbSpeed(std::string_view text) {
  // Every string of speed_show() in the kernel's drivers/usb/core/sysfs.c.
  static constexpr std::pair<std::string_view, double> kSpeeds[] = {
      {"1.5", 1.5}, {"12", 12}, {"480", 480}, {"5000", 5000}, {"10000", 10000}, {"20000", 20000}};
  const std::string_view trimmed = base::Trim(text);
  const auto* found =
      std::ranges::find_if(kSpeeds, [&](const auto& speed) { return speed.first == trimmed; });
  return found == std::end(kSpeeds) ? 0 : found->second;
}

void JoinHubHalves(const std::vector<UsbPeer>& peers, std::vector<UsbDevice>& devices) {
  NameGroups groups;
  for (const UsbPeer& peer : peers) {
    groups.Merge(peer.hub, peer.other_hub);
  }
  std::map<std::string, std::string> texts;
  for (const UsbDevice& device : devices) {
    if (device.role == UsbRole::kHub) {
      std::string& text = texts[groups.Find(device.path)];
      text += (text.empty() ? "" : "+") + device.path;
    }
  }
  for (UsbDevice& device : devices) {
    if (device.role == UsbRole::kHub) {
      device.physical_hub = texts[groups.Find(device.path)];
    }
  }
}

UsbRole RoleOf(int device_class, const UsbDevice& device, bool has_network_link) {
  constexpr int kAudio = 0x01;
  constexpr int kInput = 0x03;
  constexpr int kStorage = 0x08;
  constexpr int kHubClass = 0x09;
  constexpr int kVideo = 0x0e;
  if (device_class == kHubClass) {
    return UsbRole::kHub;
  }
  if (HasClass(device, kVideo) || !device.video_nodes.empty()) {
    return UsbRole::kCapture;
  }
  if (HasClass(device, kStorage)) {
    return UsbRole::kStorage;
  }
  if (has_network_link || std::ranges::any_of(device.interfaces, IsNetwork)) {
    return UsbRole::kNetwork;
  }
  if (HasClass(device, kAudio)) {
    return UsbRole::kAudio;
  }
  return HasClass(device, kInput) ? UsbRole::kInput : UsbRole::kOther;
}

}  // namespace probes
