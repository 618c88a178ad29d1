// SPDX-License-Identifier: Apache-2.0

#include "probes/display.h"

#include <string>

#include "base/text.h"

namespace probes {
namespace {

constexpr std::string_view kClass = "/sys/class/drm";

/// "card0-HDMI-A-1" as "HDMI-A-1"; empty for cards, render nodes and writeback
/// connectors, which hold no display.
std::string ConnectorName(const std::string& entry) {
  const std::size_t dash = entry.find('-');
  if (!entry.starts_with("card") || dash == std::string::npos) {
    return {};
  }
  const std::string name = entry.substr(dash + 1);
  return name.starts_with("Writeback") ? std::string() : base::Printable(name, 40);
}

}  // namespace

base::Result<std::vector<Display>> ReadDisplays(const base::MachineRoot& root) {
  const auto entries = root.List(kClass);
  if (!entries) {
    if (entries.error().kind == base::ErrorKind::kNotPresent && root.List("/sys/class")) {
      return std::vector<Display>();
    }
    return entries.error();
  }
  std::vector<Display> displays;
  for (const std::string& entry : *entries) {
    Display display;
    display.connector = ConnectorName(entry);
    const std::string folder = std::string(kClass) + "/" + entry;
    const auto status = root.ReadTrimmed(folder + "/status");
    if (display.connector.empty() || !status) {
      continue;
    }
    display.connected = *status == "connected";
    const auto modes = root.Read(folder + "/modes");
    display.mode = modes ? ParseFirstMode(*modes)
                         : base::Reading<std::string>(base::Result<std::string>(modes.error()));
    displays.push_back(std::move(display));
  }
  return displays;
}

base::Reading<std::string> ParseFirstMode(std::string_view text) {
  const std::string_view first = base::Trim(base::Split(text, '\n').front());
  if (first.empty()) {
    return base::Reading<std::string>::Unknown("the connector lists no mode");
  }
  return base::Printable(first, 40);
}

}  // namespace probes
