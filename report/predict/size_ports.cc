// SPDX-License-Identifier: Apache-2.0

#include "report/predict/size_ports.h"

#include <algorithm>
#include <map>
#include <utility>

#include "report/headroom/headroom.h"
#include "report/loads/assumed_demand.h"
#include "report/loads/usb_booking.h"
#include "report/loads/usb_capacity.h"
#include "report/loads/usb_load.h"
#include "report/moves/ports.h"

namespace report {
namespace {

constexpr double kControllerMbps = 5000;
constexpr std::size_t kMostPlaces = 256;  // more than any PC has

/// What a link of that speed carries for cameras that are not known yet.
double CapacityAt(double speed_mbps, int lanes) {
  const auto isochronous =
      LinkBytesPerSecond(speed_mbps, probes::TransferType::kIsochronous, lanes);
  const auto bulk = LinkBytesPerSecond(speed_mbps, probes::TransferType::kBulk, lanes);
  if (!isochronous || !bulk) {
    return 0;
  }
  return std::min(*isochronous, *bulk);
}

/// A free socket and the links from it up.
struct FreePort {
  const Socket* socket = nullptr;
  double speed_mbps = 0;                // of the socket's faster half
  std::vector<const UsbLink*> links;    // of hubs that it is behind, and shared buses
  const UsbLink* controller = nullptr;  // null: not known
  bool taken = false;
};

class Placing {
 public:
  /// `certain`: without what is assumed of compressed pictures.
  Placing(const Facts& facts, double margin_percent, bool certain)
      : facts_(facts),
        keep_(1 - margin_percent / 100),
        certain_(certain),
        sockets_(FindSockets(facts.machine().usb)) {
    for (const UsbLink& link : facts_.links) {
      load_[&link] = link.bytes_per_second - (certain ? link.assumed_bytes_per_second : 0);
    }
    for (const Socket& socket : sockets_) {
      if (socket.offered && socket.devices.empty() && places_.size() < kMostPlaces) {
        AddPlace(socket);
      }
    }
  }

  PortPlan Plan() {
    PortPlan plan;
    plan.known = std::any_of(sockets_.begin(), sockets_.end(),
                             [](const Socket& socket) { return socket.offered; });
    std::vector<const MatchedSource*> cameras = facts_.usb.Missing();
    std::stable_sort(cameras.begin(), cameras.end(), [](const auto* a, const auto* b) {
      return a->bytes_per_second > b->bytes_per_second;
    });
    for (const MatchedSource* const camera : cameras) {
      plan.cameras.push_back(PlaceOne(*camera));
    }
    return plan;
  }

 private:
  void AddPlace(const Socket& socket) {
    const bool fast = socket.usb3.there();
    const PortHalf& half = fast ? socket.usb3 : socket.usb2;
    if (!half.there() || !(half.hub->speed_mbps > 0)) {
      return;
    }
    FreePort place;
    place.socket = &socket;
    place.speed_mbps = half.hub->speed_mbps;
    for (const UsbLink* const link : LinksUp(facts_.links, half.hub->path)) {
      // Ports of a root hub have their own links, but on the older buses all share one.
      if (!link->RootHub() || link->Scheduler() == UsbScheduler::kEhci) {
        place.links.push_back(link);
      }
    }
    place.controller = ControllerOf(facts_.links, half.hub->path);
    places_.push_back(std::move(place));
  }

  /// The fullest link on the way with so much more, and its share in use; above 1 it is not
  /// carried. No link: its own, of the port.
  std::pair<double, const UsbLink*> Fullest(const FreePort& place, double bytes,
                                            bool with_controller) const {
    const double own = CapacityAt(place.speed_mbps, 1) * keep_;
    std::pair<double, const UsbLink*> fullest{own > 0 ? bytes / own : 2, nullptr};
    std::vector<const UsbLink*> links = place.links;
    if (with_controller && place.controller != nullptr) {
      links.push_back(place.controller);
    }
    for (const UsbLink* const link : links) {
      const double capacity = CapacityOf(*link) * keep_;
      const double used = capacity > 0 ? (load_.at(link) + bytes) / capacity : 2;
      if (used > fullest.first) {
        fullest = {used, link};
      }
    }
    return fullest;
  }

  static double CapacityOf(const UsbLink& link) {
    if (link.capacity_bytes_per_second || link.device == nullptr) {
      return link.capacity_bytes_per_second.value_or(0);
    }
    return CapacityAt(link.device->speed_mbps, LanesOf(*link.device));
  }

  /// The free port on whose way the fullest link is emptiest then; null where none carries it.
  FreePort* BestFor(double bytes, bool with_controller, std::pair<double, const UsbLink*>& least) {
    FreePort* best = nullptr;
    for (FreePort& place : places_) {
      if (place.taken) {
        continue;
      }
      const auto fullest = Fullest(place, bytes, with_controller);
      if (fullest.first <= 1 && (best == nullptr || fullest.first < least.first)) {
        least = fullest;
        best = &place;
      }
    }
    return best;
  }

  PlacedCamera PlaceOne(const MatchedSource& camera) {
    PlacedCamera placed;
    placed.source = camera.source;
    placed.bytes_per_second = camera.bytes_per_second;
    placed.assumption = AssumptionOf(camera.asked);
    const double bytes = certain_ && camera.Assumed() ? 0 : camera.bytes_per_second;
    std::pair<double, const UsbLink*> least{1, nullptr};
    FreePort* best = BestFor(bytes, true, least);
    if (best == nullptr) {
      best = BestFor(bytes, false, least);
      placed.past_one_port = best != nullptr;
    }
    if (best == nullptr) {
      return placed;
    }
    best->taken = true;
    if (best->controller != nullptr) {
      load_[best->controller] += bytes;
    }
    for (const UsbLink* const link : best->links) {
      load_[link] += bytes;
    }
    const PortHalf& half = best->socket->usb3.there() ? best->socket->usb3 : best->socket->usb2;
    placed.port = PortName(half.hub->path, half.number);
    const UsbLink* const link = least.second;
    placed.link = link == nullptr ? "its own port" : LinkLabel(*link);
    placed.link_bytes_per_second = link == nullptr ? bytes : load_[link];
    placed.link_capacity = link == nullptr ? CapacityAt(best->speed_mbps, 1) : CapacityOf(*link);
    return placed;
  }

  const Facts& facts_;
  const double keep_;
  const bool certain_;
  const std::vector<Socket> sockets_;
  std::vector<FreePort> places_;
  std::map<const UsbLink*, double> load_;
};

}  // namespace

double NewControllerBytesPerSecond() {
  return CapacityAt(kControllerMbps, 1);
}

int ControllersFor(std::vector<double> cameras, double each) {
  std::sort(cameras.rbegin(), cameras.rend());
  std::vector<double> used;
  for (const double bytes : cameras) {
    const auto room =
        std::find_if(used.begin(), used.end(), [&](double load) { return load + bytes <= each; });
    if (room == used.end()) {
      used.push_back(bytes);
    } else {
      *room += bytes;
    }
  }
  return static_cast<int>(used.size());
}

PortPlan PlaceCameras(const Facts& facts, double margin_percent) {
  PortPlan plan = Placing(facts, margin_percent, false).Plan();
  const PortPlan certain = Placing(facts, margin_percent, true).Plan();
  for (std::size_t i = 0; i < plan.cameras.size(); ++i) {
    PlacedCamera& camera = plan.cameras[i];
    if (camera.port.empty() && camera.assumption.empty() && !certain.cameras[i].port.empty()) {
      camera.assumption = "the size of compressed pictures beside it";
    }
  }
  return plan;
}

}  // namespace report
