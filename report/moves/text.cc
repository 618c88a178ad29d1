// SPDX-License-Identifier: Apache-2.0
//
// Names of places.

#include "report/moves/text.h"

#include <cstddef>

#include <fmt/format.h>

#include "base/text.h"
#include "report/loads/usb_booking.h"
#include "report/words/quantities.h"

namespace report {
namespace {

std::string ControllerText(const Facts& facts, const probes::UsbDevice& root) {
  const auto& controllers = facts.machine().usb.controllers;
  const probes::UsbController* found = FindController(facts.machine().usb, root.bus);
  if (found == nullptr) {
    return "the PC's USB bus " + base::Printable(root.path, 20);
  }
  const auto number = static_cast<std::size_t>(found - controllers.data()) + 1;
  return fmt::format("the PC's {}USB controller ({})",
                     controllers.size() > 1 ? Ordinal(number) + " " : std::string(),
                     base::Printable(found->address, 40));
}

std::string PanelText(const std::string& panel) {
  if (panel == "front" || panel == "back") {
    return fmt::format(", at the {} of the case", panel);
  }
  for (const char* side : {"top", "bottom", "left", "right"}) {
    if (panel == side) {
      return fmt::format(", on the {} of the case", panel);
    }
  }
  return {};
}

}  // namespace

std::string FullestText(const std::string& link, double percent) {
  return link.empty() ? "no link is loaded" : link + ", " + FormatUsePercent(percent) + " in use";
}

std::string NoMovesText(const MovePlan& plan) {
  const bool looked = plan.devices > 0 && !plan.worst_before.empty();
  return looked ? "Leave every plug where it is." : "No move is offered.";
}

std::string PlaceText(const Facts& facts, const PortHalf& half, const std::string& panel) {
  if (!half.there()) {
    return "its port";
  }
  if (half.hub->parent.empty()) {
    return fmt::format("port {} of {}{}", half.number, ControllerText(facts, *half.hub),
                       PanelText(panel));
  }
  return fmt::format("port {} of hub {}", half.number, DeviceLabel(*half.hub));
}

std::string SocketName(const Socket& socket, double speed_mbps) {
  const PortHalf& used = socket.HalfFor(speed_mbps);
  const PortHalf& other = speed_mbps >= 5000 ? socket.usb2 : socket.usb3;
  if (!used.there()) {
    return "a port";
  }
  std::string name = PortName(used.hub->path, used.number);
  if (other.there()) {
    name += fmt::format(" ({} for USB {})", PortName(other.hub->path, other.number),
                        speed_mbps >= 5000 ? 2 : 3);
  }
  return name;
}

}  // namespace report
