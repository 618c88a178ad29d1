// SPDX-License-Identifier: Apache-2.0
//
// Moves devices within a copy of the inventory.

#include "report/moves/apply.h"

#include <algorithm>
#include <cstddef>
#include <utility>

#include <fmt/format.h>

#include "report/headroom/resource_room.h"

namespace report {
namespace {

// Devices keep their places in the list when it is copied; their paths change.
std::size_t IndexOf(const Facts& before, const probes::UsbDevice& device) {
  return static_cast<std::size_t>(&device - before.machine().usb.devices.data());
}

}  // namespace

std::string PathBelow(const probes::UsbDevice& hub, int port) {
  return hub.parent.empty() ? fmt::format("{}-{}", hub.bus, port)
                            : fmt::format("{}.{}", hub.path, port);
}

MovedMachine::MovedMachine(const Facts& before, const MachineProblem& posed,
                           const std::vector<Placement>& placements)
    : evidence_(std::make_unique<Evidence>(WithoutSeries(before.evidence))) {
  // All at once: a device may take the port, and so the path, that another leaves.
  for (const Placement& placement : placements) {
    MoveDevice(before, posed, placement);
  }
  facts_ = std::make_unique<Facts>(Facts{.evidence = *evidence_,
                                         .usb = before.usb,
                                         .streams = {},
                                         .links = {},
                                         .run = {},
                                         .cpu = {},
                                         .places = before.places});
  for (MatchedSource& source : facts_->usb.sources) {
    source.device_path = Renamed(source.device_path);
  }
  CarryStreams(before, posed, placements);
  facts_->links = LoadUsbLinks(evidence_->inventory.usb, facts_->streams);
}

std::string MovedMachine::Renamed(const std::string& path) const {
  const auto found = new_paths_.find(path);
  return found == new_paths_.end() ? path : found->second;
}

void MovedMachine::MoveDevice(const Facts& before, const MachineProblem& posed,
                              const Placement& placement) {
  const PortHalf& half = posed.sockets[placement.socket].HalfFor(placement.speed_mbps);
  const probes::UsbDevice& old = *posed.candidates[placement.candidate].stream->device;
  probes::UsbDevice& device = evidence_->inventory.usb.devices[IndexOf(before, old)];
  device.path = PathBelow(*half.hub, half.number);
  device.parent = half.hub->path;
  device.bus = half.hub->bus;
  device.port = half.number;
  if (device.speed_mbps != placement.speed_mbps) {
    device.speed_mbps = placement.speed_mbps;
    device.lanes = base::Reading<int>::Unknown("it was not seen on that port yet");
  }
  new_paths_[old.path] = device.path;
}

void MovedMachine::CarryStreams(const Facts& before, const MachineProblem& posed,
                                const std::vector<Placement>& placements) {
  for (const UsbStream& stream : before.streams) {
    const auto moved = std::find_if(
        placements.begin(), placements.end(),
        [&](const Placement& one) { return posed.candidates[one.candidate].stream == &stream; });
    UsbStream then = moved == placements.end() || moved->speed_mbps == stream.device->speed_mbps
                         ? stream
                         : AtSpeed(stream, moved->speed_mbps);
    then.device = &evidence_->inventory.usb.devices[IndexOf(before, *stream.device)];
    then.shown.path = then.device->path;
    facts_->streams.push_back(std::move(then));
  }
}

}  // namespace report
