// SPDX-License-Identifier: Apache-2.0

#include "probes/pci_gpu/display.h"

#include <string>
#include <utility>

#include "base/text.h"
#include "probes/pci_gpu/edid.h"

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

Display ReadDisplay(const base::MachineRoot& root, const std::string& entry) {
  const std::string folder = std::string(kClass) + "/" + entry;
  Display display;
  display.connector = ConnectorName(entry);
  const auto status = root.ReadTrimmed(folder + "/status");
  display.connected = status ? ParseConnectorStatus(*status)
                             : base::Reading<bool>(base::Result<bool>(status.error()));
  const auto modes = root.Read(folder + "/modes");
  display.mode = modes ? ParseFirstMode(*modes)
                       : base::Reading<std::string>(base::Result<std::string>(modes.error()));
  const auto edid = root.Read(folder + "/edid");
  if (!edid) {
    display.name = display.raster = base::Reading<std::string>(edid);
    display.refresh_hz = base::Reading<double>(base::Result<double>(edid.error()));
    return display;
  }
  EdidFacts facts = ParseEdid(*edid);
  display.name = std::move(facts.name);
  display.raster = std::move(facts.raster);
  display.refresh_hz = facts.refresh_hz;
  return display;
}

}  // namespace

base::Result<std::vector<Display>> ReadDisplays(const base::MachineRoot& root) {
  const auto entries = root.List(kClass);
  if (!entries) {
    return entries.error();
  }
  std::vector<Display> displays;
  for (const std::string& entry : *entries) {
    if (!ConnectorName(entry).empty()) {
      displays.push_back(ReadDisplay(root, entry));
    }
  }
  return displays;
}

// status_show() of drivers/gpu/drm/drm_sysfs.c; drm_get_connector_status_name() has the words.
base::Reading<bool> ParseConnectorStatus(std::string_view text) {
  if (text == "connected" || text == "disconnected") {
    return text == "connected";
  }
  return base::Reading<bool>::Unknown("the kernel says '" + base::Printable(text, 40) + "'");
}

base::Reading<std::string> ParseFirstMode(std::string_view text) {
  const std::string_view first = base::Trim(base::Split(text, '\n').front());
  if (first.empty()) {
    return base::Reading<std::string>::Unknown("the connector lists no mode");
  }
  return base::Printable(first, 40);
}

}  // namespace probes
