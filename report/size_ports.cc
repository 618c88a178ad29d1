#include "report/size_ports.h"

#include <algorithm>
#include <map>
#include <utility>

#include "report/headroom.h"
#include "report/move_ports.h"
#include "report/usb_booking.h"
#include "report/usb_capacity.h"
#include "report/usb_load.h"

namespace report {
namespace {

constexpr double kControllerMbps = 5000;

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
  double speed_mbps = 0;  // of the socket's faster half
  std::vector<std::string> links;
  bool taken = false;
};

class Placing {
 public:
  Placing(const Facts& facts, double margin_percent)
      : facts_(facts), keep_(1 - margin_percent / 100), sockets_(FindSockets(facts.machine().usb)) {
    for (const UsbLink& link : facts_.links) {
      load_[link.Path()] += link.bytes_per_second;
      capacity_[link.Path()] = link.capacity_bytes_per_second.value_or(0);
    }
    for (const Socket& socket : sockets_) {
      if (socket.offered && socket.devices.empty()) {
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
      place.links.push_back(link->Path());
    }
    places_.push_back(std::move(place));
  }

  /// Share in use of the fullest link on the way with so much more; above 1: it is not carried.
  std::pair<double, std::string> Fullest(const FreePort& place, double bytes) const {
    const double own = CapacityAt(place.speed_mbps, 1) * keep_;
    std::pair<double, std::string> fullest{own > 0 ? bytes / own : 2, ""};
    for (const std::string& path : place.links) {
      const UsbLink* const link = FindLink(facts_.links, path);
      // Ports of a root hub have their own links, but on the older buses all share one.
      if (link == nullptr || (link->RootHub() && link->Scheduler() != UsbScheduler::kEhci)) {
        continue;
      }
      const double capacity = CapacityOf(*link) * keep_;
      const double used = capacity > 0 ? (load_.at(path) + bytes) / capacity : 2;
      if (used > fullest.first) {
        fullest = {used, path};
      }
    }
    return fullest;
  }

  double CapacityOf(const UsbLink& link) const {
    const double known = capacity_.at(link.Path());
    return known > 0 || link.device == nullptr
               ? known
               : CapacityAt(link.device->speed_mbps, LanesOf(*link.device));
  }

  PlacedCamera PlaceOne(const MatchedSource& camera) {
    PlacedCamera placed;
    placed.source = camera.source;
    placed.bytes_per_second = camera.bytes_per_second;
    FreePort* best = nullptr;
    std::pair<double, std::string> least{1, ""};
    for (FreePort& place : places_) {
      if (place.taken) {
        continue;
      }
      auto fullest = Fullest(place, camera.bytes_per_second);
      if (fullest.first <= 1 && (best == nullptr || fullest.first < least.first)) {
        least = std::move(fullest);
        best = &place;
      }
    }
    if (best == nullptr) {
      return placed;
    }
    best->taken = true;
    for (const std::string& path : best->links) {
      load_[path] += camera.bytes_per_second;
    }
    const PortHalf& half = best->socket->usb3.there() ? best->socket->usb3 : best->socket->usb2;
    placed.port = PortName(half.hub->path, half.number);
    const UsbLink* const link = FindLink(facts_.links, least.second);
    placed.link = link == nullptr ? "its own port" : LinkLabel(*link);
    placed.link_bytes_per_second = link == nullptr ? camera.bytes_per_second : load_[least.second];
    placed.link_capacity = link == nullptr ? CapacityAt(best->speed_mbps, 1) : CapacityOf(*link);
    return placed;
  }

  const Facts& facts_;
  const double keep_;
  const std::vector<Socket> sockets_;
  std::vector<FreePort> places_;
  std::map<std::string, double> load_;
  std::map<std::string, double> capacity_;
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
  return Placing(facts, margin_percent).Plan();
}

}  // namespace report
