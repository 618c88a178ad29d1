// SPDX-License-Identifier: Apache-2.0
//
// Words for capture devices on USB and for free ports.

#include <algorithm>
#include <cstdint>
#include <functional>
#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "base/text.h"
#include "report/loads/usb_load.h"
#include "report/moves/ports.h"
#include "report/show/rows/machine.h"
#include "report/words/quantities.h"

namespace report {
namespace {

using show::When;
using Text = base::Reading<std::string>;

constexpr int kVideoClass = 0x0e;
constexpr int kVideoStreaming = 0x02;

double RateOf(std::int64_t interval_100ns) {
  constexpr double kTicksPerSecond = 1e7;
  return interval_100ns > 0 ? kTicksPerSecond / static_cast<double>(interval_100ns) : 0;
}

std::string RateText(std::int64_t interval_100ns) {
  std::string text = fmt::format("{:.2f}", RateOf(interval_100ns));
  while (text.ends_with('0')) {
    text.pop_back();
  }
  return text.ends_with('.') ? text.substr(0, text.size() - 1) : text;
}

/// Drivers of the device's video interfaces.
Text DriverOf(const probes::UsbDevice& device) {
  std::set<std::string> drivers;
  for (const probes::UsbInterface& interface : device.interfaces) {
    if (interface.interface_class != kVideoClass) {
      continue;
    }
    if (!interface.driver) {
      return interface.driver;
    }
    drivers.insert(interface.driver->empty() ? "none" : *interface.driver);
  }
  return drivers.empty() ? Text::Unknown("it lists no video interface")
                         : Text(fmt::format("{}", fmt::join(drivers, ", ")));
}

std::string NodesText(const probes::UsbDevice& device, const base::Reading<bool>& nodes_read) {
  if (!device.video_nodes.empty()) {
    return fmt::format("{}", fmt::join(device.video_nodes, ", "));
  }
  if (nodes_read.value_or(false)) {
    return "no video node";
  }
  return "video nodes unknown: " +
         (nodes_read ? "the system lists none at all" : nodes_read.why_unknown());
}

/// "mjpeg up to 1920x1080 at 60": of each format the largest raster, then the fastest.
std::string ModesInShort(const std::vector<probes::CaptureMode>& modes) {
  std::vector<std::string> order;
  std::map<std::string, const probes::CaptureMode*> best;
  const auto larger = [](const probes::CaptureMode& a, const probes::CaptureMode& b) {
    const auto pixels = [](const auto& m) { return static_cast<std::int64_t>(m.width) * m.height; };
    return pixels(a) > pixels(b);
  };
  for (const probes::CaptureMode& mode : modes) {
    const auto [found, is_new] = best.try_emplace(mode.pixel_format, &mode);
    if (is_new) {
      order.push_back(mode.pixel_format);
    } else if (larger(mode, *found->second)) {
      found->second = &mode;
    }
  }
  std::string text = Plural(static_cast<std::int64_t>(modes.size()), "mode");
  const char* joint = ": ";
  for (const std::string& format : order) {
    const probes::CaptureMode& mode = *best[format];
    text += fmt::format("{}{} up to {}x{}", std::exchange(joint, ", "), format, mode.width,
                        mode.height);
    if (!mode.intervals_100ns.empty()) {
      text += " at " + RateText(mode.intervals_100ns.front());
    }
  }
  return text;
}

/// Settings of the interfaces that carry the pictures, by what an interval of each holds.
std::string SettingsInShort(const probes::UsbDevice& device) {
  std::set<int> sizes;
  bool bulk = false;
  for (const probes::UsbInterface& interface : device.interfaces) {
    const bool streams =
        interface.interface_class == kVideoClass && interface.subclass == kVideoStreaming;
    for (const probes::UsbEndpoint& endpoint :
         streams ? interface.endpoints : std::vector<probes::UsbEndpoint>()) {
      if (endpoint.type == probes::TransferType::kIsochronous) {
        sizes.insert(endpoint.bytes_per_interval);
      }
      bulk = bulk || endpoint.type == probes::TransferType::kBulk;
    }
  }
  if (sizes.empty()) {
    return bulk ? "bulk transfers, no bandwidth reserved" : "no alternate settings";
  }
  return fmt::format("{}, {} to {} bytes an interval{}",
                     Plural(static_cast<std::int64_t>(sizes.size()), "alternate setting"),
                     *sizes.begin(), *sizes.rbegin(), bulk ? "; bulk transfers too" : "");
}

/// All modes, a line for each format.
void AddModes(const std::vector<probes::CaptureMode>& modes, show::Facts& facts) {
  std::vector<std::pair<std::string, std::string>> lines;
  for (const probes::CaptureMode& mode : modes) {
    const auto line = std::find_if(lines.begin(), lines.end(), [&](const auto& known) {
      return known.first == mode.pixel_format;
    });
    if (line == lines.end()) {
      lines.emplace_back(mode.pixel_format, ModeText(mode));
    } else {
      line->second += "; " + ModeText(mode);
    }
  }
  for (const auto& [format, text] : lines) {
    facts.Add("", fmt::format("{}: {}", format, text), When::kDetails);
  }
}

std::string SettingText(int alternate, const probes::UsbEndpoint& endpoint) {
  return endpoint.type == probes::TransferType::kIsochronous
             ? fmt::format("{}: {} bytes an interval ({} x {})", alternate,
                           endpoint.bytes_per_interval, endpoint.packets_per_interval,
                           endpoint.max_packet_bytes)
             : fmt::format("{}: bulk, packets of {} bytes", alternate, endpoint.max_packet_bytes);
}

/// All alternate settings, a line for each interface that carries pictures.
void AddSettings(const probes::UsbDevice& device, show::Facts& facts) {
  std::map<int, std::string> lines;
  for (const probes::UsbInterface& interface : device.interfaces) {
    if (interface.interface_class != kVideoClass || interface.subclass != kVideoStreaming) {
      continue;
    }
    for (const probes::UsbEndpoint& endpoint : interface.endpoints) {
      std::string& line = lines[interface.number];
      line += (line.empty() ? "" : "; ") + SettingText(interface.alternate, endpoint);
    }
  }
  for (const auto& [number, text] : lines) {
    facts.Add("", fmt::format("settings of interface {}: {}", number, text), When::kDetails);
  }
}

/// "usb2 port 3 (back)".
std::string PortText(const PortHalf& half, const std::string& panel) {
  return fmt::format("{} port {}{}", half.hub->path, half.number,
                     panel.empty() ? "" : " (" + panel + ")");
}

bool AnyPorts(const probes::UsbInventory& usb) {
  return std::any_of(usb.devices.begin(), usb.devices.end(),
                     [](const auto& device) { return !device.port_list.empty(); });
}

}  // namespace

std::string ModeText(const probes::CaptureMode& mode) {
  std::string text = fmt::format("{}x{}", mode.width, mode.height);
  const auto& intervals = mode.intervals_100ns;
  if (mode.interval_step_100ns > 0 && intervals.size() == 2) {
    return text + fmt::format(" at any rate from {} to {}", RateText(intervals[1]),
                              RateText(intervals[0]));
  }
  const char* joint = " at ";
  for (const std::int64_t interval : intervals) {
    text += std::exchange(joint, ", ") + RateText(interval);
  }
  return text;
}

show::Part CameraPart(const probes::UsbInventory& usb) {
  show::Facts facts;
  for (const probes::UsbDevice& device : usb.devices) {
    if (device.role != probes::UsbRole::kCapture) {
      continue;
    }
    const Text driver = DriverOf(device);
    facts.Add(device.path, fmt::format("{}, driver {}, {}", DeviceName(device),
                                       driver ? *driver : "unknown: " + driver.why_unknown(),
                                       NodesText(device, usb.nodes_read)));
    facts.Add("", device.modes.empty() && !device.descriptor_fault.empty()
                      ? Text::Unknown(device.descriptor_fault)
                      : Text(ModesInShort(device.modes) + "; " + SettingsInShort(device)));
    AddModes(device.modes, facts);
    AddSettings(device, facts);
  }
  return PartOf("Capture devices on USB", std::move(facts));
}

show::Part FreePortPart(const probes::UsbInventory& usb) {
  show::Facts facts;
  if (!usb.present.value_or(false)) {
    return PartOf("Free USB ports", std::move(facts));
  }
  if (!AnyPorts(usb)) {
    facts.Add("ports", Text::Unknown("the kernel shows no ports of the hubs"));
    return PartOf("Free USB ports", std::move(facts));
  }
  std::map<double, std::vector<std::string>, std::greater<>> free;
  for (const Socket& socket : FindSockets(usb)) {
    if (!socket.offered || !socket.devices.empty()) {
      continue;
    }
    const PortHalf& half = socket.usb3.there() ? socket.usb3 : socket.usb2;
    free[half.hub->speed_mbps].push_back(PortText(half, socket.panel));
  }
  if (free.empty()) {
    facts.Add("ports", "none");
  }
  for (const auto& [speed, ports] : free) {
    facts.Add(speed > 0 ? FormatLinkSpeed(speed) : "speed unknown",
              fmt::format("{}: {}", ports.size(), fmt::join(ports, ", ")));
  }
  return PartOf("Free USB ports", std::move(facts));
}

}  // namespace report
