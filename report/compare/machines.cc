// SPDX-License-Identifier: Apache-2.0

#include "report/compare/machines.h"

#include <algorithm>
#include <iterator>
#include <string>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "profiles/text/reader.h"
#include "report/compare/differences.h"
#include "report/fields/probes.h"
#include "report/fields/to_json.h"

namespace report {
namespace {

using stored::Json;

/// What a device is, wherever it hangs.
bool SameDevice(const probes::UsbDevice& a, const probes::UsbDevice& b) {
  return a.vendor_id == b.vendor_id && a.product_id == b.product_id && a.product == b.product &&
         a.role == b.role && !a.parent.empty() && !b.parent.empty();
}

const probes::UsbDevice* AtPath(const std::vector<probes::UsbDevice>& devices,
                                const std::string& path) {
  const auto found = std::find_if(devices.begin(), devices.end(),
                                  [&path](const auto& device) { return device.path == path; });
  return found == devices.end() ? nullptr : &*found;
}

std::string PortText(const probes::UsbDevice& device) {
  return fmt::format("{} at {:.4g} Mb/s", base::Printable(device.path, 60), device.speed_mbps);
}

/// Devices that left one port and came at another are taken out of both trees, and told.
std::vector<ChangedFact> TakeMoves(probes::UsbInventory& before, probes::UsbInventory& after) {
  // Every device is looked for among all others; no PC has so many.
  constexpr std::size_t kMostDevices = 256;
  std::vector<ChangedFact> moves;
  if (std::max(before.devices.size(), after.devices.size()) > kMostDevices) {
    return moves;
  }
  for (std::size_t i = 0; i < before.devices.size();) {
    const probes::UsbDevice& left = before.devices[i];
    const probes::UsbDevice* const there = AtPath(after.devices, left.path);
    const auto came = std::find_if(
        after.devices.begin(), after.devices.end(), [&](const probes::UsbDevice& device) {
          const probes::UsbDevice* const was = AtPath(before.devices, device.path);
          return SameDevice(left, device) && (was == nullptr || !SameDevice(*was, device));
        });
    if ((there != nullptr && SameDevice(left, *there)) || came == after.devices.end()) {
      ++i;
      continue;
    }
    moves.push_back(
        {"usb", "port of " + base::Printable(left.product, 80), PortText(left), PortText(*came)});
    after.devices.erase(came);
    before.devices.erase(std::next(before.devices.begin(), static_cast<std::ptrdiff_t>(i)));
  }
  return moves;
}

}  // namespace

std::vector<ChangedFact> ChangesOfProduction(const profiles::Profile& before,
                                             const profiles::Profile& after) {
  const Json old_json = Json::parse(profiles::ToJsonText(before), nullptr, false);
  const Json new_json = Json::parse(profiles::ToJsonText(after), nullptr, false);
  return Differences(old_json, new_json, {});
}

std::vector<ChangedFact> ChangesOfMachine(const probes::Inventory& before,
                                          const probes::Inventory& after) {
  const DifferenceRules rules{
      {"machine_root", "runs", "memory_available_bytes", "throttle_events", "free_bytes",
       "used_bytes", "receive_errors", "receive_drops", "transmit_errors", "transmit_drops",
       "temperature_c", "powered_hours", "written_bytes", "seconds", "pid", "resolved"},
      {"interfaces", "modes", "video_functions", "port_list", "idle_states"}};
  probes::Inventory old_one = before;
  probes::Inventory new_one = after;
  std::vector<ChangedFact> changes = TakeMoves(old_one.usb, new_one.usb);
  std::vector<ChangedFact> others =
      Differences(stored::ToJson(old_one), stored::ToJson(new_one), rules);
  changes.insert(changes.end(), std::make_move_iterator(others.begin()),
                 std::make_move_iterator(others.end()));
  return changes;
}

}  // namespace report
